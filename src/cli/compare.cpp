#include <algorithm>
#include <filesystem>
#include <iostream>

#include "archived_log.hpp"
#include "commands.hpp"
#include "kerfwright/error.hpp"
#include "kerfwright/files.hpp"
#include "kerfwright/sheet/comparison.hpp"
#include "kerfwright/sheet/plan_file.hpp"
#include "kerfwright/sheet/shape_file.hpp"
#include "progress.hpp"
#include "watching.hpp"

namespace kerfwright::cli {
namespace {

/// An order or a mill with the name under which it is compared: the file's, where there are more.
template <class Value>
struct Named {
  std::string name;
  Value value;
};

std::string stem(const std::string& file) {
  return std::filesystem::path(file).filename().replace_extension().string();
}

/// @throws UserError where two files would be told by the same name
template <class Value, class Read>
std::vector<Named<Value>> read_named(const std::vector<std::string>& files, Read read) {
  std::vector<Named<Value>> all;
  for (const std::string& file : files) {
    const std::string name = files.size() > 1 ? stem(file) : "";
    if (std::any_of(all.begin(), all.end(), [&](const auto& one) { return one.name == name; })) {
      throw UserError(Fault::usage, "Two files to compare are both called '" + name +
                                        "': give one of them another name.");
    }
    all.push_back({name, read(file)});
  }
  return all;
}

void refuse_two_currencies(const std::vector<Named<Order>>& orders) {
  for (const auto& [name, order] : orders) {
    if (order.currency == orders.front().value.currency) continue;
    throw UserError(Fault::usage, "Orders in " + orders.front().value.currency + " and in " +
                                      order.currency +
                                      " cannot be compared: write both in one currency.");
  }
}

std::string way_name(Pattern pattern, const std::string& order, const std::string& mill) {
  std::string name(pattern_name(pattern));
  for (const std::string& other : {order, mill}) {
    if (!other.empty()) name += ", " + other;
  }
  return name;
}

Way planned(const LogShape& shape, const Order& order, const Mill& mill,
            const PlanSettings& settings, const std::string& name) {
  Way way{name, std::nullopt, "", ""};
  if (settings.watch.stopped()) {
    way.why_not = "It was not looked at: the comparison was ended before.";
    return way;
  }
  try {
    way.plan = plan_log(shape, order, mill, settings);
  } catch (const UserError& error) {
    const Fault fault = error.fault();
    if (fault != Fault::no_product_fits && fault != Fault::log_beyond_mill &&
        fault != Fault::interrupted) {
      throw;
    }
    way.why_not = fault == Fault::interrupted ? "No plan of it was found in the time that it had."
                                              : error.what();
  }
  return way;
}

std::vector<Pattern> patterns_to_compare(const PlanSettings& settings) {
  if (!settings.patterns.empty()) return settings.patterns;
  std::vector<Pattern> all;
  for (std::size_t i = 0; i < pattern_names.size(); ++i) all.push_back(static_cast<Pattern>(i));
  return all;
}

/// Sheets and drawings of the run before: nobody is to saw from those that this one does not write.
std::vector<std::string> drawings_of_ways_before(const std::string& out) {
  std::vector<std::string> outdated;
  for (const std::string& folder : compared_before(out)) {
    for (std::string& drawing : drawings_in(folder)) outdated.push_back(std::move(drawing));
  }
  return outdated;
}

}  // namespace

int run_compare(const CompareOptions& options) {
  auto orders = read_named<Order>(options.orders, read_order);
  const std::string species = species_of(options.scan);
  for (auto& each : orders) {
    if (each.value.species.empty()) each.value.species = species;
  }
  refuse_two_currencies(orders);
  std::vector<Named<Mill>> mills = read_named<Mill>(
      options.mills, [&](const std::string& file) { return load_mill(file, options.scan.inches); });
  if (mills.empty()) mills.push_back({"", load_mill("", options.scan.inches)});
  // The bark is that of the log: the first order that names its tree tells it for all.
  const auto named = std::find_if(orders.begin(), orders.end(),
                                  [](const auto& order) { return !order.value.species.empty(); });
  const LogShape shape =
      load_shape(with_bark_of(named == orders.end() ? "" : named->value.species, options.scan))
          .shape;
  refuse_comparison_of_another_log(options.out, shape.source.file);
  const std::string shape_text = shape_to_json(shape);
  const auto patterns = patterns_to_compare(options.settings);
  std::vector<Way> ways;
  const std::size_t count = patterns.size() * orders.size() * mills.size();
  Progress progress(count);
  Watching watching(options.seconds);
  const Watch watch = watching.watch();
  for (const auto& order : orders) {
    for (const auto& mill : mills) {
      for (const Pattern pattern : patterns) {
        const std::string name = way_name(pattern, order.name, mill.name);
        progress.step("planning " + name);
        PlanSettings settings = options.settings;
        settings.patterns = {pattern};
        settings.watch = watch.within(1.0 / static_cast<double>(count - ways.size()));
        settings.watch.better = settings.watch.bound = {};
        settings.watch.progress = [&](const std::string& what, double share) {
          progress.within(what, share);
        };
        ways.push_back(planned(shape, order.value, mill.value, settings, name));
        Way& way = ways.back();
        if (!way.plan) continue;
        way.plan->shape_sha256 = sha256_hex(shape_text);
        way.folder = std::to_string(ways.size()) + "-" + plain_name(name);
      }
    }
  }
  progress.done();
  if (std::none_of(ways.begin(), ways.end(), [](const Way& way) { return way.plan.has_value(); })) {
    if (watch.stopped()) {
      throw UserError(
          Fault::interrupted,
          "Stopped before any way was planned; nothing was written. Give it more time.");
    }
    throw UserError(Fault::no_product_fits, ways.front().why_not);
  }
  const std::string ended_early = watching.ended_early();
  const std::filesystem::path out(options.out);
  std::vector<Output> outputs;
  for (const Way& way : ways) {
    if (!way.plan) continue;
    outputs.push_back({(out / way.folder).string(), files_of(*way.plan, shape, shape_text)});
  }
  outputs.push_back({options.out,
                     {{"comparison.html", comparison_html(ways, shape)},
                      {"comparison.json", comparison_json(ways)}}});
  write_all(outputs, drawings_of_ways_before(options.out));
  if (options.json) {
    std::cout << comparison_json(ways);
    return 0;
  }
  std::cout << options.scan.file << '\n'
            << bark_warning(options.scan, shape) << comparison_table(ways) << verdict(ways) << '\n'
            << (ended_early.empty() ? ""
                                    : "The comparison was ended early (" + ended_early +
                                          "): its plans are the best by then, not the best there "
                                          "are, and ways may be missing.\n")
            << "Written: " << (out / "comparison.html").string()
            << ", the cut maps side by side; each plan with its sheet in a folder beside it\n";
  return 0;
}

}  // namespace kerfwright::cli
