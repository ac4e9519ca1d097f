#include "order_command.hpp"

#include <algorithm>
#include <filesystem>
#include <iostream>
#include <map>
#include <set>

#include "archived_log.hpp"
#include "help.hpp"
#include "kerfwright/error.hpp"
#include "kerfwright/files.hpp"
#include "kerfwright/sheet/plan_file.hpp"
#include "kerfwright/sheet/shape_file.hpp"
#include "kerfwright/yard/yard_sheets.hpp"
#include "length_option.hpp"
#include "made_before.hpp"
#include "output.hpp"
#include "plan_given.hpp"
#include "progress.hpp"
#include "scan_options.hpp"
#include "search_options.hpp"
#include "watching.hpp"

namespace kerfwright::cli {
namespace {

/// A log of the command line, read.
struct Loaded {
  YardLog log;
  YardSource source;
  ScanOptions scan;
  std::string shape_text;
};

/// How a log is called: the archive's name, or the file's without its ending; a file that is only
/// called shape.json goes by its folder.
std::string name_of(const std::string& file) {
  if (is_archived(file)) return file.substr(file.find(':') + 1);
  const std::filesystem::path path(file);
  const std::string stem = path.stem().string();
  const std::string folder = path.parent_path().filename().string();
  return stem == "shape" && !folder.empty() && folder != "." && folder != ".." ? folder : stem;
}

void refuse_same_names(const std::vector<Loaded>& logs) {
  std::map<std::string, std::string> file_of_folder;
  for (const Loaded& log : logs) {
    const auto [first, is_new] = file_of_folder.emplace(log.source.folder, log.source.file);
    if (is_new) continue;
    throw UserError(Fault::usage, "'" + first->second + "' and '" + log.source.file +
                                      "' would both be written as '" + first->first +
                                      "': name each log once, and give different logs different "
                                      "names.");
  }
}

/// The same log is told by the bytes of its shape or of its scan.
void refuse_same_logs(const std::vector<Loaded>& logs) {
  std::map<std::string, std::string> file_of;
  const auto check = [&](const std::string& sum, const std::string& file) {
    const auto [first, is_new] = file_of.emplace(sum, file);
    if (is_new || first->second == file) return;
    throw UserError(Fault::usage,
                    "'" + first->second + "' and '" + file + "' are the same log: name it once.");
  };
  for (const Loaded& log : logs) {
    check("shape " + sha256_hex(log.shape_text), log.source.file);
    if (!log.log.shape.source.sha256.empty()) {
      check("scan " + log.log.shape.source.sha256, log.source.file);
    }
  }
}

/// @param species of the order; empty = not said
std::vector<Loaded> load_all(const OrderOptions& options, const std::string& species) {
  std::vector<Loaded> logs;
  for (const std::string& file : options.logs) {
    const std::string name = name_of(file);
    std::string folder = plain_name(name);
    if (folder.empty()) folder = "log-" + std::to_string(logs.size() + 1);
    logs.push_back({{name, {}}, {file, folder}, with_bark_of(species, options.scan), ""});
    logs.back().scan.file = file;
  }
  refuse_same_names(logs);
  Progress progress(logs.size());
  for (Loaded& log : logs) {
    progress.step("reading " + log.source.file);
    log.log.shape = load_shape(log.scan).shape;
    log.shape_text = shape_to_json(log.log.shape);
  }
  progress.done();
  refuse_same_logs(logs);
  return logs;
}

/// The species that was given, or the one that all logs of the archive are of.
std::string common_species(const std::vector<Loaded>& logs) {
  std::string species;
  for (const Loaded& log : logs) {
    const std::string of_log = species_of(log.scan);
    if (!species.empty() && of_log != species) return {};
    species = of_log;
  }
  return species;
}

/// What is made already, and which of the logs are sawn: those are taken out of `logs`.
/// @param sawn receives their folders
std::vector<int> take_out_sawn(const OrderOptions& options, const Order& order,
                               std::vector<Loaded>& logs, std::set<std::string>& sawn) {
  std::vector<int> made(order.products.size(), 0);
  for (std::size_t i = 0; i + 1 < options.sawn.size(); i += 2) {
    const std::string sawn_plan = plan_file(options.sawn[i]);
    const std::string& tally_file = options.sawn[i + 1];
    const SawPlan plan = plan_from_json(read_file(sawn_plan), sawn_plan);
    const auto pieces = made_before(plan, read_file(tally_file), tally_file, order);
    for (std::size_t p = 0; p < made.size(); ++p) made[p] += pieces[p];
    sawn.insert(std::filesystem::absolute(sawn_plan).parent_path().filename().string());
    std::erase_if(logs, [&](const Loaded& log) {
      if (sha256_hex(log.shape_text) != plan.shape_sha256) return false;
      sawn.insert(log.source.folder);
      return true;
    });
  }
  return made;
}

std::vector<Output> outputs_of(const OrderOptions& options, const std::vector<Loaded>& logs,
                               YardPlan& plan) {
  std::vector<Output> outputs;
  const std::filesystem::path out(options.out);
  for (std::size_t l = 0; l < logs.size(); ++l) {
    if (!plan.plans[l]) continue;
    SawPlan& of_log = *plan.plans[l];
    of_log.shape_sha256 = sha256_hex(logs[l].shape_text);
    of_log.scan_to_log = logs[l].log.shape.scan_to_log;
    outputs.push_back({(out / logs[l].source.folder).string(),
                       files_of(of_log, logs[l].log.shape, logs[l].shape_text)});
  }
  return outputs;
}

std::vector<std::string> keep_plans(const std::vector<Loaded>& logs, const YardPlan& plan) {
  std::vector<std::string> kept;
  for (std::size_t l = 0; l < logs.size(); ++l) {
    if (!plan.plans[l]) continue;
    const SawPlan& of_log = *plan.plans[l];
    kept.push_back(keep_plan(logs[l].scan, of_log.shape_sha256, plan_to_json(of_log)));
  }
  return kept;
}

/// Logs of which nothing told how thick the bark is.
std::string bark_warnings(const std::vector<Loaded>& logs) {
  std::string words;
  for (const Loaded& log : logs) {
    const std::string warning = bark_warning(log.scan, log.log.shape);
    if (!warning.empty()) words += log.log.name + ":" + warning.substr(1);
  }
  return words;
}

/// What the run before wrote to the same place; nothing where its file is missing or no longer
/// tells.
std::vector<std::string> folders_before(const std::string& out) {
  const std::string file = (std::filesystem::path(out) / "order.json").string();
  try {
    return folders_of_yard(read_file(file), file);
  } catch (const UserError&) {
    return {};
  }
}

/// Sheets and drawings of an older run, of logs that are not sawn now: nobody is to saw from them.
/// @param sawn folders of logs that are taken out as sawn: theirs stay
std::map<std::string, std::vector<std::string>> outdated_drawings(
    const OrderOptions& options, const std::vector<Loaded>& logs, const YardPlan& plan,
    const std::set<std::string>& sawn) {
  auto folders = folders_before(options.out);
  std::set<std::string> stay = sawn;
  for (std::size_t l = 0; l < logs.size(); ++l) {
    folders.push_back(logs[l].source.folder);
    if (plan.plans[l]) stay.insert(logs[l].source.folder);
  }
  std::map<std::string, std::vector<std::string>> outdated;
  for (const std::string& folder : folders) {
    if (stay.contains(folder) || plain_name(folder) != folder) continue;  // no way out of --out
    const auto path = (std::filesystem::path(options.out) / folder).string();
    const auto drawings = drawings_in(path);
    if (!drawings.empty()) outdated[path] = drawings;
  }
  return outdated;
}

}  // namespace

int run_order(const OrderOptions& options) {
  Order order = read_order(options.order);
  const Mill mill = load_mill(options.mill, options.scan.inches);
  std::vector<Loaded> loaded = load_all(options, order.species);
  if (order.species.empty()) order.species = common_species(loaded);
  std::set<std::string> sawn;
  const std::vector<int> before = take_out_sawn(options, order, loaded, sawn);
  if (loaded.empty()) {
    throw UserError(Fault::usage, "All logs that were named are sawn: name those that are left.");
  }
  std::vector<YardLog> logs;
  std::vector<YardSource> sources;
  for (const Loaded& log : loaded) {
    logs.push_back(log.log);
    sources.push_back(log.source);
  }
  YardSettings settings = options.settings;
  std::string ended_early;
  YardPlan plan;
  {
    Watching watching(options.seconds);
    settings.plan.watch = watching.watch();
    plan = plan_yard(logs, order, mill, settings, before);
    ended_early = watching.ended_early();
  }
  auto outputs = outputs_of(options, loaded, plan);
  const std::string json = yard_json(plan, logs, sources);
  outputs.push_back(
      {options.out,
       {{"order.json", json}, {"order-sheet.html", yard_sheet_html(plan, logs, sources)}}});
  std::vector<std::string> outdated;
  std::string outdated_words;
  for (const auto& [folder, drawings] : outdated_drawings(options, loaded, plan, sawn)) {
    outdated.insert(outdated.end(), drawings.begin(), drawings.end());
    outdated_words += "Note: the log of '" + folder +
                      "' is not sawn now; its older sheet and drawings were taken away "
                      "(its plan.json stays).\n";
  }
  write_all(outputs, outdated);
  const auto kept = keep_plans(loaded, plan);
  if (options.json) {
    std::cout << json;
    return 0;
  }
  std::cout << bark_warnings(loaded) << yard_words(plan, logs)
            << ended_early_words(ended_early, "choice");
  for (const std::string& line : kept) std::cout << line;
  std::cout << outdated_words
            << "Written: " << (std::filesystem::path(options.out) / "order-sheet.html").string()
            << ", the sheet of the whole list; the sheet of each log lies in its folder\n";
  return 0;
}

void add_order(CLI::App& app, Action& action) {
  const auto asked = std::make_shared<Asked<OrderOptions>>();
  OrderOptions& order = asked->options;
  auto* command = app.add_subcommand(
      "order",
      "Plan one list over many logs: what is sawn from which, and what stays uncut.\n"
      "Example: kerfwright order house.toml archive:fir-1 archive:fir-2 larch.ply --mill mill.toml "
      "--out house");
  command->add_option("order", order.order, "What is wanted, with numbers (TOML)")->required();
  command
      ->add_option("logs", order.logs,
                   "Scans, shape files or archive:NAME, as for plan; one log in each")
      ->required();
  command->add_option("--out", order.out, "For the sheet of the list and a folder for each log")
      ->type_name("FOLDER")
      ->required();
  command->add_option("--mill", order.mill, "What the mill can do (TOML); else a chain-saw mill")
      ->type_name("FILE");
  command
      ->add_option(
          "--wood-price", order.settings.wood_price,
          "What a m3 of log costs under bark; else a quarter of what a m3 of the list fetches")
      ->type_name("MONEY")
      ->check(number_from(0.0, 1e9));
  command->add_flag("--list-first", order.settings.list_first,
                    "As much of the list as can be, not the most money");
  command
      ->add_option("--sawn", order.sawn,
                   "A log that is sawn, its plan and what came of it (CSV, as for tally); once for "
                   "each. Its pieces count as made, and it is taken out")
      ->type_size(2)
      ->type_name("PLAN TALLY")
      ->take_all();
  add_json(command, order.json);
  add_inch(command, order.scan.inches);
  add_archive_option(command, order.scan.archive);
  add_time(command, order.seconds);
  add_common_scan_options(command, order.scan, asked->scan);
  add_search_options(command, order.settings.plan, asked->patterns);
  run_searching(command, asked, order.settings.plan, action, run_order);
}

}  // namespace kerfwright::cli
