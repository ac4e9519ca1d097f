// What a plan is worth beside what one would do without: the sawyer's habit, the same search at
// coarse steps, and the plan of a straight frustum, each judged in the true wood of invented logs.

#include <CLI/CLI.hpp>
#include <algorithm>
#include <array>
#include <chrono>
#include <cstdio>
#include <functional>
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

namespace {

using namespace kerfwright;

struct Way {
  const char* name;
  std::function<SawPlan(const LogShape& fitted, const LogShape& truth)> plan;
};

struct Sum {
  std::vector<double> shares;  ///< of the reference, one a log
  double seconds = 0;
};

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
  CLI11_PARSE(app, argc, argv);
  const std::vector<Pattern> plain = {Pattern::live, Pattern::cant};
  const std::vector<Way> ways = {
      {"habit",
       [](const LogShape& s, const LogShape&) {
         return sawn_by_habit(s, parse_order(mixed_order, "order"), Mill{});
       }},
      {"live and cant, 45 degrees",
       [&](const LogShape& s, const LogShape&) { return search(s, 45, 1, plain); }},
      {"live and cant, 10 degrees",
       [&](const LogShape& s, const LogShape&) { return search(s, 10, 1, plain); }},
      {"live and cant, 1 degree",
       [&](const LogShape& s, const LogShape&) { return search(s, 1, 7, plain); }},
      {"all patterns, 1 degree",
       [](const LogShape& s, const LogShape&) { return search(s, 1, 7, {}); }},
      {"all patterns, from the true solid",
       [](const LogShape&, const LogShape& t) { return search(t, 1, 7, {}); }}};
  std::vector<Sum> sums(ways.size());
  for (int i = 0; i < logs; ++i) {
    const int seed = first + i;
    const InventedLog log = random_log(static_cast<std::uint64_t>(seed));
    PhoneSettings phone;
    phone.seed = static_cast<std::uint64_t>(seed);
    phone.hidden = hidden;
    const PhoneScan scan = scan_like_a_phone(log, phone);
    LogShape shape = fit_shape(look_for_log(as_read(scan), {}).log, {});
    put_bark(shape, {log.bark, 0, 0});
    const LogShape truth = true_shape(log, scan.scan_to_log);
    std::vector<double> there;
    for (std::size_t k = 0; k < ways.size(); ++k) {
      const auto start = std::chrono::steady_clock::now();
      double value = 0.0;
      try {
        value = judge(ways[k].plan(shape, truth), log, scan.scan_to_log, 1.0).value_there;
      } catch (const UserError& error) {
        if (error.fault() != Fault::no_product_fits) throw;
      }
      const std::chrono::duration<double> took = std::chrono::steady_clock::now() - start;
      sums[k].seconds += took.count() / logs;
      there.push_back(value);
    }
    const LogMeasures m = measure(shape);
    std::printf("%4d %4.0f mm x %.1f m, sweep %3.0f:", seed, m.middle.mean_under_bark,
                m.length / 1000.0, m.sweep);
    for (std::size_t k = 0; k < ways.size(); ++k) {
      std::printf(" %8.2f", there[k]);
      if (there.front() > 0.0) sums[k].shares.push_back(there[k] / there.front());
    }
    std::printf("\n");
    std::fflush(stdout);
  }
  std::printf("| way | value there over the habit's: mean | least | most | s a log |\n");
  std::printf("| --- | --- | --- | --- | --- |\n");
  for (std::size_t k = 0; k < ways.size(); ++k) {
    auto& shares = sums[k].shares;
    double mean = 0.0;
    for (const double share : shares) mean += share / static_cast<double>(shares.size());
    std::sort(shares.begin(), shares.end());
    std::printf("| %s | %.3f | %.3f | %.3f | %.1f |\n", ways[k].name, mean,
                shares.empty() ? 0.0 : shares.front(), shares.empty() ? 0.0 : shares.back(),
                sums[k].seconds);
  }
  return 0;
}
