#include "tally_command.hpp"

#include <cstdio>
#include <filesystem>
#include <iostream>
#include <memory>

#include "archived_log.hpp"
#include "kerfwright/error.hpp"
#include "kerfwright/files.hpp"
#include "kerfwright/sheet/plan_file.hpp"
#include "kerfwright/trade/scaling.hpp"
#include "length_option.hpp"
#include "plan_given.hpp"
#include "scan_options.hpp"

namespace kerfwright::cli {
namespace {

/// A tally that the archive has, and whose it is.
struct KeptTally {
  std::string log;
  TallyResult result;
};

/// "tally-3.csv" for "plan-3.json".
std::string tally_name(const std::string& plan) {
  const std::size_t dash = plan.find('-');
  return "tally" + plan.substr(dash, plan.find('.') - dash) + ".csv";
}

std::vector<KeptTally> all_tallies(const Archive& archive) {
  std::vector<KeptTally> all;
  for (const KeptLog& log : archive.find({})) {
    if (log.tallies == 0) continue;
    for (const FileEntry& file : archive.files(log)) {
      if (file.kind != "plan") continue;
      const std::string name = tally_name(file.name);
      const std::string called = log.card.name + "/" + name;
      std::string csv;
      try {
        csv = archive.file(log, name);
      } catch (const UserError& error) {
        if (error.fault() != Fault::not_in_archive) throw;
        continue;  // a plan that was not sawn
      }
      const SawPlan plan = plan_from_json(archive.file(log, file.name), called);
      all.push_back({log.card.name, compare_tally(plan, parse_tally(csv, called), called)});
    }
  }
  return all;
}

Learned learned_from(const std::vector<KeptTally>& tallies) {
  std::vector<TallyResult> results;
  for (const KeptTally& tally : tallies) results.push_back(tally.result);
  return learn(results);
}

void print_share(double sawn, double planned) {
  if (planned > 0.0) {
    std::printf("%9.0f %%", 100.0 * sawn / planned);
  } else {
    std::printf("%11s", "");
  }
}

void print_all(const std::vector<KeptTally>& tallies) {
  std::printf("%-24s%12s%11s%11s%11s\n", "log", "boards", "volume", "value", "hours");
  for (const auto& [name, result] : tallies) {
    const std::string boards =
        std::to_string(result.came) + " of " + std::to_string(result.planned);
    std::printf("%-24s%12s", name.c_str(), boards.c_str());
    print_share(result.m3, result.planned_m3);
    print_share(result.value, result.planned_value);
    print_share(result.hours.value_or(0.0), result.hours ? result.planned_hours : 0.0);
    std::printf("\n");
  }
  std::fflush(stdout);
}

/// Keeps plan and tally where the archive has the log.
/// @returns whether it has
bool keep_tally(const TallyOptions& options, const SawPlan& plan, const std::string& plan_text,
                const std::string& csv) {
  const std::string place = options.archive.empty() ? Archive::default_path() : options.archive;
  if (options.archive.empty() && !std::filesystem::exists(place)) {
    std::cout << "Not kept: there is no archive yet\n";
    return false;
  }
  Archive archive = open_archive(place, Archive::Access::existing);
  const auto log = archive.log_of_shape(plan.shape_sha256);
  if (!log) {
    std::cout << "Not kept: the archive has no log of this plan's shape; 'kerfwright archive add' "
                 "keeps it\n";
    return false;
  }
  const std::string name = tally_name(archive.keep(*log, "plan", "json", plan_text));
  const bool former = archive.replace(*log, {name, "tally", csv, {}});
  std::cout << "Kept in the archive as " << name << " of '" << log->card.name << "'"
            << (former ? ", in the place of the one before" : "") << "\n";
  return true;
}

}  // namespace

int run_tally(const TallyOptions& options) {
  if (options.plan.empty() != options.tally.empty())
    throw UserError(Fault::usage,
                    "tally takes a plan and what was sawn of it, or neither for what "
                    "all tallies of the archive say.");
  bool inches = options.inches;
  if (!options.plan.empty()) {
    const std::string file = plan_file(options.plan);
    const std::string plan_text = read_file(file), csv = read_file(options.tally);
    const SawPlan plan = plan_from_json(plan_text, file);
    inches = inches || plan.mill.inches;
    const TallyResult result = compare_tally(plan, parse_tally(csv, options.tally), options.tally);
    std::cout << describe(result, plan.order.currency, inches);
    if (!keep_tally(options, plan, plan_text, csv)) return 0;
    std::cout << '\n';
  }
  std::cout << std::flush;
  const auto tallies = all_tallies(open_archive(options.archive, Archive::Access::existing));
  print_all(tallies);
  std::cout << describe(learned_from(tallies), inches);
  return 0;
}

Mill mill_of_tallies(const Mill& mill, const std::string& place, bool quiet) {
  const Learned learned = learned_from(all_tallies(open_archive(place, Archive::Access::existing)));
  const Mill changed = learned_mill(mill, learned);
  if (quiet) return changed;
  if (!learned.enough) {
    std::cout << "  Nothing is learned yet: " << learned.logs << " logs tallied, "
              << learned.thicknesses << " thicknesses measured; 3 and 15 are needed.\n";
  } else {
    const double unit = mill.inches ? mm_per_inch : 1.0;
    const int digits = mill.inches ? 3 : 1;
    const char* const name = mill.inches ? "in" : "mm";
    std::printf(
        "  Learned from %d logs: kerf %.*f instead of %.*f %s, sawing variation %.*f instead "
        "of %.*f %s.\n",
        learned.logs, digits, changed.kerf / unit, digits, mill.kerf / unit, name, digits,
        changed.sawing_variation / unit, digits, mill.sawing_variation / unit, name);
    std::fflush(stdout);
  }
  return changed;
}

void add_tally(CLI::App& app, Action& action) {
  const auto options = std::make_shared<TallyOptions>();
  auto* command = app.add_subcommand(
      "tally",
      "Compare what was sawn with its plan, keep it, and say what all tallies teach.\n"
      "Example: kerfwright tally plan/plan.json tally.csv");
  command->add_option("plan", options->plan,
                      "The plan's file (.json) or its folder; none: only what all tallies say");
  command->add_option("tally", options->tally,
                      "What was sawn (CSV): boards.csv of the plan with the lines of boards that "
                      "did not come taken out, sizes as measured, and a line 'minutes,95'");
  add_inch(command, options->inches, false);
  add_archive_option(command, options->archive);
  run_with(command, options, action, run_tally);
}

}  // namespace kerfwright::cli
