// What a plan is worth beside what one would do without: the sawyer's habit, the same search at
// coarse steps, and the plan of a straight frustum, in the true wood of invented logs: the boards
// that are there as planned, and what a person takes off who edges each flitch by what it shows.

#include <CLI/CLI.hpp>
#include <Eigen/LU>
#include <algorithm>
#include <array>
#include <cstdio>
#include <ctime>
#include <functional>
#include <numeric>
#include <vector>

#include "habit.hpp"
#include "invented/against_truth.hpp"
#include "invented/dice.hpp"
#include "invented/judge.hpp"
#include "invented/phone_scan.hpp"
#include "invented/recipes.hpp"
#include "invented/truth.hpp"
#include "kerfwright/error.hpp"
#include "kerfwright/saw/plan_log.hpp"
#include "kerfwright/scan/find_log.hpp"
#include "kerfwright/shape/fit_shape.hpp"
#include "kerfwright/shape/measure.hpp"
#include "kerfwright/trade/order.hpp"
#include "settings/hand_saw.hpp"
#include "simple_models.hpp"

namespace {

using namespace kerfwright;

struct Models {
  LogShape fitted, truth, frustum;
};

struct Way {
  const char* name;
  std::function<SawPlan(const Models& of)> plan;
};

/// EUR, in the true wood.
struct Yielded {
  double as_planned = 0;  ///< boards that are wholly there
  double edged = 0;       ///< flitches edged by what they show
};

struct Sum {
  std::vector<double> as_planned, edged;  ///< over the habit's, one a log
  double seconds = 0;  ///< of the processor
};

Yielded yielded(const SawPlan& plan, const InventedLog& log, const LogShape& truth,
                const Eigen::Matrix4d& scan_to_log) {
  const std::vector<SlippedCut> cuts = saw_exactly(plan);
  const Eigen::Matrix4d to_truth = truth.scan_to_log * plan.scan_to_log.inverse();
  return {judge(plan, log, scan_to_log, 1.0).value_there,
          edge_by_hand(plan, cuts, solid_of(truth), to_truth)};
}

void print_table(const std::vector<Way>& ways, std::vector<Sum>& sums, const char* what,
                 std::vector<double> Sum::*shares) {
  std::printf("| %s | over the habit's: mean | least | most | s a log |\n", what);
  std::printf("| --- | --- | --- | --- | --- |\n");
  for (std::size_t k = 0; k < ways.size(); ++k) {
    std::vector<double>& all = sums[k].*shares;
    if (all.empty()) continue;
    const double mean =
        std::accumulate(all.begin(), all.end(), 0.0) / static_cast<double>(all.size());
    const auto [least, most] = std::minmax_element(all.begin(), all.end());
    std::printf("| %s | %.3f | %.3f | %.3f | %.1f |\n", ways[k].name, mean, *least, *most,
                sums[k].seconds);
  }
}

SawPlan search(const LogShape& shape, double turn_step, int lifts, std::vector<Pattern> patterns) {
  PlanSettings settings;
  settings.turn_step = turn_step;
  settings.lifts = lifts;
  settings.patterns = std::move(patterns);
  return plan_log(shape, parse_order(mixed_order, "order"), Mill{}, settings);
}

}  // namespace

int main(int argc, char** argv) {
  int logs = 30, first = 1;
  double hidden = 0.2;
  CLI::App app("What a plan is worth beside what one would do without.");
  app.add_option("--logs", logs, "how many")->check(CLI::Range(1, 10000));
  app.add_option("--first", first, "seed of the first");
  app.add_option("--hidden", hidden, "share of the girth that is not seen");
  std::vector<std::size_t> asked;
  app.add_option("--ways", asked, "of the ways below the habit, by number from 1; all without")
      ->delimiter(',')
      ->check(CLI::Range(1, 6));
  CLI11_PARSE(app, argc, argv);
  const std::vector<Pattern> plain = {Pattern::live, Pattern::cant};
  std::vector<Way> ways = {
      {"habit",
       [](const Models& of) {
         return sawn_by_habit(of.fitted, parse_order(mixed_order, "order"), Mill{});
       }},
      {"live and cant, 45 degrees",
       [&](const Models& of) { return search(of.fitted, 45, 1, plain); }},
      {"live and cant, 10 degrees",
       [&](const Models& of) { return search(of.fitted, 10, 1, plain); }},
      {"live and cant, 1 degree", [&](const Models& of) { return search(of.fitted, 1, 7, plain); }},
      {"all patterns, on a straight frustum",
       [](const Models& of) { return search(of.frustum, 1, 7, {}); }},
      {"all patterns, 1 degree", [](const Models& of) { return search(of.fitted, 1, 7, {}); }},
      {"all patterns, from the true solid",
       [](const Models& of) { return search(of.truth, 1, 7, {}); }}};
  if (!asked.empty()) {
    std::vector<Way> wanted = {ways.front()};
    for (const std::size_t k : asked) wanted.push_back(ways[k]);
    ways = std::move(wanted);
  }
  std::vector<Sum> sums(ways.size());
  for (int i = 0; i < logs; ++i) {
    const int seed = first + i;
    const InventedLog log = random_log(static_cast<std::uint64_t>(seed));
    PhoneSettings phone;
    phone.seed = static_cast<std::uint64_t>(seed);
    phone.hidden = hidden;
    const PhoneScan scan = scan_like_a_phone(log, phone);
    const Scan found = look_for_log(as_read(scan), {}).log;
    Models models = {fit_shape(found, {}), true_shape(log, scan.scan_to_log),
                     fitted_frustum(found)};
    put_bark(models.fitted, {log.bark, 0, 0});
    put_bark(models.frustum, {log.bark, 0, 0});
    std::vector<Yielded> there;
    for (std::size_t k = 0; k < ways.size(); ++k) {
      const std::clock_t start = std::clock();
      SawPlan plan;
      bool any = true;
      try {
        plan = ways[k].plan(models);
      } catch (const UserError& error) {
        if (error.fault() != Fault::no_product_fits) throw;
        any = false;
      }
      sums[k].seconds += static_cast<double>(std::clock() - start) / CLOCKS_PER_SEC / logs;
      there.push_back(any ? yielded(plan, log, models.truth, scan.scan_to_log) : Yielded{});
    }
    const LogMeasures m = measure(models.fitted);
    std::printf("%4d %4.0f mm x %.1f m, sweep %3.0f:", seed, m.middle.mean_under_bark,
                m.length / 1000.0, m.sweep);
    for (std::size_t k = 0; k < ways.size(); ++k) {
      std::printf(" %8.2f %8.2f", there[k].as_planned, there[k].edged);
      if (there.front().as_planned > 0.0) {
        sums[k].as_planned.push_back(there[k].as_planned / there.front().as_planned);
      }
      if (there.front().edged > 0.0) sums[k].edged.push_back(there[k].edged / there.front().edged);
    }
    std::printf("\n");
    std::fflush(stdout);
  }
  print_table(ways, sums, "boards there as planned", &Sum::as_planned);
  print_table(ways, sums, "flitches edged by what they show", &Sum::edged);
  return 0;
}
