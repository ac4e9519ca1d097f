#include <algorithm>
#include <cmath>
#include <numbers>

#include "live_bound.hpp"
#include "planner.hpp"

namespace kerfwright::saw {
namespace {

constexpr int most_cells_with_cants = 3000;  // where time has no end; each takes far longer
constexpr int most_cells_in_time = 1000000;  // so that it is time that ends it
constexpr double widest_gap = 20.0;          // per cent; it takes no time to be within so much

/// A pose that a person can set: turns to a tenth of a degree, lifts to the mill's step.
Pose settable(const Pose& pose, double length, double step) {
  const double degree = std::numbers::pi / 180.0;
  return {std::round(pose.roll / degree * 10.0) / 10.0 * degree,
          std::round(pose.slope * length / step) * step / length};
}

}  // namespace

double taken_off(const Order& order, const Prices& full, const Prices& lowered) {
  double sum = 0.0;
  for (std::size_t p = 0; p < full.size(); ++p) {
    const auto& wanted = order.products[p].wanted;
    if (!wanted || *wanted == 0) continue;
    double most = 0.0;
    for (std::size_t i = 0; i < full[p].size(); ++i) {
      most = std::max(most, full[p][i] - lowered[p][i]);
    }
    sum += most * *wanted;
  }
  return sum;
}

/// Bounds what sawing through and through can bring, and cants where they are asked for, with lanes
/// that lie level, until the plan is within the gap; better plans that turn up on the way are
/// taken.
void Planner::prove(Planned& planned, std::vector<Catalogues>& priced, const Prices& scarce,
                    const Replays& replays, bool square_ends) {
  if (!are_bounded(patterns_) || planned.plan.boards.empty()) return;
  const bool cants = is_among(patterns_, Pattern::cant);
  const Prices full = prices_of(order_, mill_);
  const double limits = taken_off(order_, full, scarce);
  // However far in the planner had to go until a plan was there on paper.
  const Wood wood = wood_of(shape_, margin_, paper_insets.front());
  Catalogues& catalogues = priced.front();
  const Catalogue& catalogue = catalogues.all();
  // Every plan turns the log once at least.
  const double beside = limits - space_.turn_cost;
  const double share = 1.0 - 0.01 * std::min(*gap_, widest_gap);
  const auto good = [&] { return planned.plan.totals.net / share - beside; };
  BoundSpace space;
  space.most_slope = space_.slopes.back();
  space.good = good();
  if (cants) space.cants = CantSpace{space_.slopes.back(), space_.turn_cost};
  if (space_.watch.gone) {
    space.most_cells = most_cells_in_time;
  } else if (cants) {
    space.most_cells = most_cells_with_cants;
  }
  space.stop = space_.watch.stop;
  space.hear = [&](double worth) {
    if (space_.watch.bound) space_.watch.bound(worth + beside);
  };
  double best = 0.0;
  space.try_pose = [&](const Pose& pose) {
    const Pose set = settable(pose, wood_.length(), mill_.height_step);
    PoseSearch search(wood_, catalogue, set);
    if (!cants) return search.best_live(best);
    return search.best_with_cants({1, space_.slopes, space_.turn_cost, must_cant()}, best);
  };
  space.take = [&](const LogPlan& plan) {
    if (plan.worth <= best) return good();
    best = plan.worth;
    take_better(planned.plan, write(plan, catalogues, square_ends), replays);
    return good();
  };
  const LiveBound found = bound_live(wood, LeastCosts(catalogue), space);
  if (!found.complete) return;
  planned.bound = found.worth + beside;
  planned.bound_patterns = patterns_;
  planned.bound_lift = space.most_slope * wood_.length();
}

}  // namespace kerfwright::saw
