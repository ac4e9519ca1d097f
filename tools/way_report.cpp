// What each way of sawing gives in the true wood: invented logs, scanned as a phone would, planned
// in every pattern alone and in all together, each plan sawn on its shape and judged in the known
// solid.

#include <CLI/CLI.hpp>
#include <algorithm>
#include <cstdio>
#include <map>
#include <string>
#include <vector>

#include "invented/against_truth.hpp"
#include "invented/dice.hpp"
#include "invented/judge.hpp"
#include "invented/phone_scan.hpp"
#include "invented/recipes.hpp"
#include "kerfwright/error.hpp"
#include "kerfwright/saw/plan_log.hpp"
#include "kerfwright/saw/replay.hpp"
#include "kerfwright/scan/find_log.hpp"
#include "kerfwright/shape/fit_shape.hpp"
#include "kerfwright/trade/order.hpp"

namespace {

using namespace kerfwright;

struct Settings {
  int logs = 10, first = 1;
  double tolerance = 1.0;
  PlanSettings plan;
};

const char* const order_text = R"(
[[product]]
name = "joist"
thickness = 50
width = 150
lengths = [1200, 1800, 2400]
price_per_m3 = 620
[[product]]
name = "plank"
thickness = 32
width = 200
lengths = [900, 1200, 1800, 2400]
price_per_m3 = 780
[[product]]
name = "board"
thickness = 25
width = 120
lengths = [600, 900, 1200, 1800]
price_per_m3 = 560
wane = 0.1
[[product]]
name = "beam"
thickness = 120
width = 120
lengths = [1200, 1800, 2400]
price_per_m3 = 500
heart = "boxed"
[[product]]
name = "slab"
thickness = 60
min_width = 160
lengths = [1200, 1800]
price_per_m2 = 40
live_edge = true
[[product]]
name = "turning blank"
thickness = 60
width = 60
lengths = [250, 450]
price_per_m3 = 700
blank = true
)";

/// One way on one kind of scan, over all logs.
struct Sum {
  int plans = 0, incomplete = 0;
  double claimed = 0, there = 0, worst = 1.0;
};

std::string name_of(const std::vector<Pattern>& patterns) {
  return patterns.empty() ? "all" : std::string(pattern_name(patterns.front()));
}

class Report {
 public:
  explicit Report(const Settings& settings) : settings_(settings) {}

  void try_log(int seed, double hidden) {
    const InventedLog log = random_log(static_cast<std::uint64_t>(seed));
    Dice dice(static_cast<std::uint64_t>(seed) + 777);
    PhoneSettings phone;
    phone.seed = static_cast<std::uint64_t>(seed);
    phone.noise = dice.uniform(2.0, 6.0);
    phone.hidden = hidden;
    phone.points = 150000;
    const PhoneScan scan = scan_like_a_phone(log, phone);
    LogShape shape = fit_shape(look_for_log(as_read(scan), {}).log, {});
    put_bark(shape, {log.bark, 0, 0});
    double best_alone = 0.0;
    std::string best_name = "none";
    for (std::size_t i = 0; i < pattern_names.size(); ++i) {
      const double net = try_way(log, scan, shape, {static_cast<Pattern>(i)}, hidden);
      if (net > best_alone) {
        best_alone = net;
        best_name = pattern_names[i];
      }
    }
    const double all = try_way(log, scan, shape, {}, hidden);
    if (all < best_alone - 1e-6) {
      ++less_;
      std::printf("  log %d: all patterns give %.2f, %s alone %.2f\n", seed, all, best_name.c_str(),
                  best_alone);
    }
    std::printf("%4d hidden %.2f: best alone %-11s %8.2f, all %8.2f\n", seed, hidden,
                best_name.c_str(), best_alone, all);
    std::fflush(stdout);
  }

  void print() const {
    std::printf(
        "| pattern | all seen: plans | there | worst | a third hidden: plans | there | worst |\n");
    std::printf("| --- | --- | --- | --- | --- | --- | --- |\n");
    std::vector<std::string> names(pattern_names.begin(), pattern_names.end());
    names.emplace_back("all");
    for (const std::string& name : names) {
      std::printf("| %s |", name.c_str());
      for (const bool hidden : {false, true}) {
        const auto found = sums_.find({name, hidden});
        const Sum sum = found == sums_.end() ? Sum{} : found->second;
        std::printf(" %d | %.3f | %.3f |", sum.plans,
                    sum.claimed > 0 ? sum.there / sum.claimed : 0.0, sum.worst);
        if (sum.incomplete > 0) std::printf(" (%d do not replay)", sum.incomplete);
      }
      std::printf("\n");
    }
    std::printf("logs on which all patterns together gave less than one alone: %d\n", less_);
  }

 private:
  double try_way(const InventedLog& log, const PhoneScan& scan, const LogShape& shape,
                 const std::vector<Pattern>& patterns, double hidden) {
    PlanSettings settings = settings_.plan;
    settings.patterns = patterns;
    try {
      const SawPlan plan = plan_log(shape, parse_order(order_text, "order"), Mill{}, settings);
      const JudgedPlan judged = judge(plan, log, scan.scan_to_log, settings_.tolerance);
      Sum& sum = sums_[{name_of(patterns), hidden > 0.0}];
      ++sum.plans;
      if (!replay(plan, shape).complete) ++sum.incomplete;
      sum.claimed += judged.value_claimed;
      sum.there += judged.value_there;
      sum.worst = std::min(sum.worst, judged.share());
      return plan.totals.net;
    } catch (const UserError& error) {
      if (error.fault() != Fault::no_product_fits) throw;
      return 0.0;
    }
  }

  Settings settings_;
  std::map<std::pair<std::string, bool>, Sum> sums_;
  int less_ = 0;
};

}  // namespace

int main(int argc, char** argv) {
  Settings settings;
  settings.plan.turn_step = 15.0;
  settings.plan.lifts = 3;
  CLI::App app("What each way of sawing gives in the true wood of invented logs.");
  app.add_option("--logs", settings.logs, "how many")->check(CLI::Range(1, 10000));
  app.add_option("--first", settings.first, "seed of the first");
  app.add_option("--tolerance", settings.tolerance, "mm that count as wood");
  app.add_option("--turn-step", settings.plan.turn_step, "degrees between turns");
  app.add_option("--lifts", settings.plan.lifts, "lifts at each turn");
  CLI11_PARSE(app, argc, argv);
  try {
    Report report(settings);
    for (int i = 0; i < settings.logs; ++i) {
      for (const double hidden : {0.0, 0.33}) report.try_log(settings.first + i, hidden);
    }
    report.print();
    return 0;
  } catch (const UserError& error) {
    std::fprintf(stderr, "%s\n", error.what());
    return static_cast<int>(error.fault());
  }
}
