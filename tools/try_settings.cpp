// What choosing for setting errors is worth: invented logs are scanned, fitted and planned, once as
// if all were set exactly and once with errors in mind; then both plans are sawn many times by
// hands that slip (settings/hand_saw, which knows nothing of the planner), on the shape as it may
// be and on the true solid.

#include <omp.h>

#include <CLI/CLI.hpp>
#include <Eigen/LU>
#include <algorithm>
#include <cstdio>

#include "invented/against_truth.hpp"
#include "invented/phone_scan.hpp"
#include "invented/recipes.hpp"
#include "invented/truth.hpp"
#include "kerfwright/error.hpp"
#include "kerfwright/saw/plan_log.hpp"
#include "kerfwright/scan/find_log.hpp"
#include "kerfwright/shape/fit_shape.hpp"
#include "kerfwright/trade/order.hpp"
#include "settings/hand_saw.hpp"

namespace {

using namespace kerfwright;

constexpr std::size_t most_in_truth = 200;  // sawings; there only the mean counts

struct Settings {
  int logs = 30, first = 1, draws = 1000, points = 100000;
  PlanSettings plan;
  Mill mill;
  bool known = false;  ///< plans on the true solid instead of a fit
  std::vector<std::string> patterns;
};

/// What a plan gave, sawing by sawing.
struct Sawings {
  std::vector<double> on_shape, in_truth;
};

double mean(const std::vector<double>& values) {
  double sum = 0.0;
  for (const double value : values) sum += value;
  return sum / static_cast<double>(values.size());
}

double share_at_least(const std::vector<double>& values, double least) {
  int count = 0;
  for (const double value : values) count += value >= least - 1e-9 ? 1 : 0;
  return count / static_cast<double>(values.size());
}

bool holds(double share) { return share >= 0.88 && share <= 0.92; }

/// Whether there is a value that 88 to 92 % of the sawings reach: few boards make few values, and
/// none may divide the sawings so.
bool some_value_holds(const std::vector<double>& sawings) {
  return std::any_of(sawings.begin(), sawings.end(),
                     [&](double value) { return holds(share_at_least(sawings, value)); });
}

Sawings saw(const Settings& settings, int seed, const SawPlan& plan, const LogShape& shape,
            const LogShape& truth) {
  const Sloppiness sloppy{settings.mill.turn_error, settings.mill.lift_error,
                          settings.mill.blade_error};
  const Solid true_solid = solid_of(truth);
  const Eigen::Matrix4d to_truth = truth.scan_to_log * shape.scan_to_log.inverse();
  const auto count = static_cast<std::size_t>(settings.draws);
  const std::size_t in_truth = std::min(count, most_in_truth);
  Sawings sawings{std::vector<double>(count), std::vector<double>(in_truth)};
#pragma omp parallel for schedule(dynamic, 8)
  for (std::size_t d = 0; d < count; ++d) {
    Dice dice(1000003ULL * static_cast<std::uint64_t>(seed) + d + 77);
    const auto cuts = saw_by_hand(plan, shape, sloppy, dice);
    sawings.on_shape[d] =
        edge_by_hand(plan, cuts, drawn_solid(shape, dice), Eigen::Matrix4d::Identity());
    if (d < in_truth) sawings.in_truth[d] = edge_by_hand(plan, cuts, true_solid, to_truth);
  }
  return sawings;
}

struct Gain {
  double on_shape = 0, in_truth = 0, holds = 0, holds_in_truth = 0;
  bool can_hold = false;  ///< whether any number could on the shape
};

LogShape fitted(const Settings& settings, const InventedLog& log, int seed, LogShape& truth) {
  PhoneSettings phone;
  phone.seed = static_cast<std::uint64_t>(seed);
  phone.points = settings.points;
  phone.ground = phone.second_log = phone.clutter = false;
  const PhoneScan scan = scan_like_a_phone(log, phone);
  truth = true_shape(log, scan.scan_to_log);
  if (settings.known) return truth;
  LogShape shape = fit_shape(look_for_log(as_read(scan), {}).log, {});
  put_bark(shape, {log.bark, 0, 0});
  return shape;
}

Gain try_log(const Settings& settings, int seed) {
  const InventedLog log = random_log(static_cast<std::uint64_t>(seed));
  LogShape truth;
  const LogShape shape = fitted(settings, log, seed, truth);
  const Order order = parse_order(mixed_order, "order");
  PlanSettings exact = settings.plan;
  exact.draws = 0;
  const double start = omp_get_wtime();
  const SawPlan blind = plan_log(shape, order, settings.mill, exact);
  const double between = omp_get_wtime();
  const SawPlan sure = plan_log(shape, order, settings.mill, settings.plan);
  const double end = omp_get_wtime();
  const Sawings a = saw(settings, seed, blind, shape, truth);
  const Sawings b = saw(settings, seed, sure, shape, truth);
  Gain gain{mean(b.on_shape) / mean(a.on_shape) - 1.0, mean(b.in_truth) / mean(a.in_truth) - 1.0,
            share_at_least(b.on_shape, *sure.totals.q10),
            share_at_least(b.in_truth, *sure.totals.q10), some_value_holds(b.on_shape)};
  std::printf(
      "%4d | exact %7.2f gives %7.2f %7.2f | sure %7.2f says %7.2f, %7.2f; gives %7.2f %7.2f | "
      "%+5.1f %+5.1f %% | holds %.3f %.3f%s | %s; %s | %.1f s, %.1f s\n",
      seed, blind.totals.net, mean(a.on_shape), mean(a.in_truth), sure.totals.net,
      *sure.totals.expected, *sure.totals.q10, mean(b.on_shape), mean(b.in_truth),
      100 * gain.on_shape, 100 * gain.in_truth, gain.holds, gain.holds_in_truth,
      gain.can_hold ? "" : " (no number could)", blind.pattern.c_str(), sure.pattern.c_str(),
      between - start, end - between);
  std::fflush(stdout);
  return gain;
}

}  // namespace

int main(int argc, char** argv) {
  Settings settings;
  settings.plan.draws = usual_draws;
  CLI::App app("What choosing for setting errors is worth, on invented logs.");
  app.add_option("--logs", settings.logs, "how many")->check(CLI::Range(1, 10000));
  app.add_option("--first", settings.first, "seed of the first");
  app.add_option("--draws", settings.draws, "sawings of each plan")->check(CLI::Range(10, 100000));
  app.add_option("--turn-step", settings.plan.turn_step, "degrees between turns");
  app.add_option("--lifts", settings.plan.lifts, "lifts at each turn");
  app.add_option("--points", settings.points, "of the scan");
  app.add_option("--pattern", settings.patterns, "ways of sawing");
  app.add_option("--turn-error", settings.mill.turn_error, "degrees");
  app.add_option("--lift-error", settings.mill.lift_error, "mm");
  app.add_option("--blade-error", settings.mill.blade_error, "mm");
  app.add_flag("--known", settings.known, "plan on the true solid");
  CLI11_PARSE(app, argc, argv);
  for (const std::string& name : settings.patterns) {
    settings.plan.patterns.push_back(pattern_named(name));
  }
  std::vector<Gain> gains;
  try {
    for (int i = 0; i < settings.logs; ++i) gains.push_back(try_log(settings, settings.first + i));
  } catch (const UserError& error) {
    std::fprintf(stderr, "%s\n", error.what());
    return static_cast<int>(error.fault());
  }
  Gain sum;
  int held = 0, held_in_truth = 0, can = 0;
  const auto count = static_cast<double>(gains.size());
  for (const Gain& gain : gains) {
    sum.on_shape += gain.on_shape / count;
    sum.in_truth += gain.in_truth / count;
    sum.holds += gain.holds / count;
    sum.holds_in_truth += gain.holds_in_truth / count;
    held += holds(gain.holds) ? 1 : 0;
    held_in_truth += holds(gain.holds_in_truth) ? 1 : 0;
    can += gain.can_hold ? 1 : 0;
  }
  std::printf(
      "mean gain %+.2f %% on the shape, %+.2f %% in the true solid; the stated quantile holds in "
      "%.1f %% and %.1f %% of sawings, within 88 to 92 %% on %d and %d of %zu logs; on %d "
      "there is a number that does\n",
      100 * sum.on_shape, 100 * sum.in_truth, 100 * sum.holds, 100 * sum.holds_in_truth, held,
      held_in_truth, gains.size(), can);
  return 0;
}
