#include "quarter_search.hpp"

#include <algorithm>
#include <cmath>
#include <memory>
#include <numbers>

#include "frame.hpp"
#include "mill_limits.hpp"

namespace kerfwright::saw {
namespace {

constexpr int coarse_turns = 6;    // over a quarter circle
constexpr std::size_t seeds = 2;   // poses whose planes are moved
constexpr double first_move = 12;  // mm by which a plane is moved at first
constexpr double last_move = 3;    // and at last

/// Profiles of one pose, right way up and upside down: heights are measured from the chord.
struct Sides {
  Pose pose;
  std::unique_ptr<Profile> profile;
};

Sides sides_of(const Wood& wood, const Catalogue& catalogue, const Pose& pose) {
  return {pose, std::make_unique<Profile>(wood, pose, catalogue.grid)};
}

/// One quarter parallel to its face at `floor`, at first only bounded.
class QuarterSawing {
 public:
  QuarterSawing(const Wood& wood, const Catalogue& catalogue, const Sides& sides, Edger& edger,
                QuarterPlan lying)
      : kerf_strips_(catalogue.kerf_strips),
        edger_(edger),
        quarter_(std::move(lying)),
        flitches_(wood, catalogue, *sides.profile, sides.pose.slope,
                  quarter_clip(quarter_, catalogue)) {
    table_.cut_cost = cut_costs(wood, catalogue, *sides.profile);
    forbid_cuts_at_metal(wood, catalogue, sides.pose, quarter_clip(quarter_, catalogue),
                         table_.cut_cost);
    flitches_.fill(table_);
    const HeightGrid& grid = catalogue.grid;
    const int face = static_cast<int>(std::ceil((quarter_.floor - grid.origin) / grid.step - 1e-6));
    // On the flat face no cut is needed; a cut that only grazes it is none.
    for (auto& worth : table_.worth) {
      for (int b = 0; b < face + catalogue.kerf_strips && b < table_.levels; ++b) {
        if (b != face) worth[static_cast<std::size_t>(b)] = 0.0F;
      }
    }
    if (face >= 0 && face < table_.levels) table_.cut_cost[static_cast<std::size_t>(face)] = 0.0F;
    most_ = stack(0.0, Known::near).worth;
  }

  /// No stack of it is worth more.
  double most() const { return most_; }

  /// The best stack; none where it is not worth more than `cutoff`.
  QuarterPlan best(double cutoff) {
    quarter_.stack = most_ > cutoff ? stack(cutoff, Known::exact) : Stack{};
    quarter_.worth = quarter_.stack.worth;
    return std::move(quarter_);
  }

 private:
  Stack stack(double cutoff, Known enough) {
    return best_stack_lazily(table_, kerf_strips_, cutoff, enough,
                             [&](int item, int bottom, double) {
                               return flitches_.refine(table_, edger_, item, bottom);
                             });
  }

  int kerf_strips_;
  Edger& edger_;
  QuarterPlan quarter_;
  FlitchWorths flitches_;
  StackTable table_;
  double most_ = 0.0;
};

/// The two planes in every pose that a quarter may lie in: the first plane up, down, the second up,
/// down.
class Splitter {
 public:
  Splitter(const Wood& wood, const Catalogue& catalogue, const SearchSpace& space, const Pose& pose)
      : wood_(wood), catalogue_(catalogue), space_(space), edger_(catalogue, wood.border) {
    const Pose second = quarter_turn(pose, 0.0);
    for (const Pose& each : {pose, upside_down(pose), second, upside_down(second)}) {
      sides_.push_back(sides_of(wood, catalogue, each));
    }
  }

  /// None where it is not worth more than `cutoff`.
  LogPlan plan(double first, double second, double cutoff) {
    LogPlan plan;
    plan.pose = sides_[0].pose;
    SplitPlan split;
    split.first = first;
    split.second_pose = sides_[2].pose;
    split.second = second;
    std::vector<Choice> choices;
    double most = 0.0;
    for (std::size_t q = 0; q < 4; ++q) {
      const bool above_first = q < 2;
      const bool above_second = q % 2 == 0;
      choices.push_back(
          {quarter(above_first ? 0 : 1, first, split.second_pose, second, above_second),
           quarter(above_second ? 2 : 3, second, plan.pose, first, above_first)});
      most += choices.back().most();
    }
    // What it must bring before the turns are paid, the two to split the log at least.
    const double needed = cutoff + 2 * space_.turn_cost;
    int turns = 0;
    for (std::size_t q = 0; q < 4; ++q) {
      if (most <= needed) return {};
      Choice& choice = choices[q];
      most -= choice.most();
      // With less the others, at their most, do not make up for it.
      const double least = std::max(0.0, needed - most);
      split.quarters[q] = choice.best(least);
      plan.worth += split.quarters[q].worth;
      most += split.quarters[q].worth;
      turns += split.quarters[q].worth > 0.0 ? 1 : 0;
    }
    plan.worth -= (turns + 2) * space_.turn_cost;
    if (plan.worth <= cutoff) return {};
    plan.split = std::move(split);
    return plan;
  }

 private:
  /// A quarter on either of its flat faces.
  struct Choice {
    std::unique_ptr<QuarterSawing> lying, standing;
    double most() const { return std::max(lying->most(), standing->most()); }
    QuarterPlan best(double cutoff) {
      QuarterPlan one = lying->best(cutoff);
      QuarterPlan other = standing->best(std::max(cutoff, one.worth));
      return one.worth >= other.worth ? std::move(one) : std::move(other);
    }
  };

  /// @param side index of the pose in which the face of the plane at `height` is down
  std::unique_ptr<QuarterSawing> quarter(std::size_t side, double height, const Pose& other,
                                         double other_height, bool above_other) {
    const Sides& sides = sides_[side];
    const bool flipped = side % 2 == 1;
    const double half = 0.5 * catalogue_.kerf;
    QuarterPlan quarter;
    quarter.pose = sides.pose;
    quarter.floor = (flipped ? -height : height) + half;
    const double face = other_height + (above_other ? half : -half);
    const Across across = across_of(other, face, sides.pose);
    quarter.face = across.at;
    quarter.lean = across.lean;
    const bool other_faces_left = Frame(other).up.dot(Frame(sides.pose).across) < 0.0;
    quarter.right = other_faces_left == above_other;
    return std::make_unique<QuarterSawing>(wood_, catalogue_, sides, edger_, std::move(quarter));
  }

  const Wood& wood_;
  const Catalogue& catalogue_;
  const SearchSpace& space_;
  Edger edger_;
  std::vector<Sides> sides_;
};

/// The height nearest to `wish` for which the half above the plane starts at a level of the grid.
double on_grid(const Catalogue& catalogue, double wish) {
  const HeightGrid& grid = catalogue.grid;
  const double half = 0.5 * catalogue.kerf;
  return grid.height(static_cast<int>(std::lround((wish + half - grid.origin) / grid.step))) - half;
}

struct Try {
  Pose pose;
  double first = 0, second = 0;
};

Try through_pith(const Wood& wood, const Catalogue& catalogue, const Pose& pose) {
  return {pose, on_grid(catalogue, pith_height(wood, pose)),
          on_grid(catalogue, pith_height(wood, quarter_turn(pose, 0.0)))};
}

std::vector<LogPlan> plan_tries(const Wood& wood, const Catalogue& catalogue,
                                const SearchSpace& space, const std::vector<Try>& tries,
                                double cutoff) {
  std::vector<LogPlan> plans(tries.size());
#pragma omp parallel for schedule(dynamic, 1)
  for (std::size_t i = 0; i < tries.size(); ++i) {
    if (space.watch.stopped()) continue;
    plans[i] = plan_quarters(wood, catalogue, space, tries[i].pose, tries[i].first, tries[i].second,
                             cutoff);
  }
  return plans;
}

bool take_better(LogPlan& best, std::vector<LogPlan> plans) {
  bool better = false;
  for (LogPlan& plan : plans) {
    if (plan.worth <= best.worth + 1e-9) continue;
    best = std::move(plan);
    better = true;
  }
  return better;
}

/// Moves turn, lift and planes while that pays.
void move(const Wood& wood, const Catalogue& catalogue, const SearchSpace& space, LogPlan& best) {
  double turn = 0.5 * std::numbers::pi / coarse_turns / 2.0;
  double shift = first_move;
  const double lift = space.slopes.size() > 1 ? space.slopes[1] - space.slopes[0] : 0.0;
  const double finest = std::numbers::pi / space.turns;
  for (int round = 0; round < 12; ++round) {
    const SplitPlan& split = *best.split;
    std::vector<Try> tries;
    for (const double sign : {-1.0, 1.0}) {
      Pose pose = best.pose;
      tries.push_back({pose, on_grid(catalogue, split.first + sign * shift), split.second});
      tries.push_back({pose, split.first, on_grid(catalogue, split.second + sign * shift)});
      pose.roll += sign * turn;
      tries.push_back(through_pith(wood, catalogue, pose));
      pose = best.pose;
      pose.slope += sign * lift;
      if (lift > 0.0 && std::abs(pose.slope) <= space.slopes.back() + 1e-12) {
        tries.push_back(through_pith(wood, catalogue, pose));
      }
    }
    if (take_better(best, plan_tries(wood, catalogue, space, tries, best.worth))) continue;
    if (shift <= last_move && turn <= 2.0 * finest) break;
    shift = std::max(last_move, shift / 2);
    turn = std::max(finest, turn / 2);
  }
}

}  // namespace

CantClip quarter_clip(const QuarterPlan& quarter, const Catalogue& catalogue) {
  Lying lying;
  (quarter.right ? lying.right : lying.left) = quarter.face;
  lying.lean = quarter.lean;
  return *clip_of(lying, catalogue.kerf);
}

LogPlan plan_quarters(const Wood& wood, const Catalogue& catalogue, const SearchSpace& space,
                      const Pose& pose, double first, double second, double cutoff) {
  return Splitter(wood, catalogue, space, pose).plan(first, second, cutoff);
}

std::vector<LogPlan> search_quarters(const Wood& wood, const Catalogue& catalogue,
                                     const SearchSpace& space, double cutoff) {
  space.watch.say("quarters", 0.0);
  std::vector<Try> tries;
  for (int turn = 0; turn < coarse_turns; ++turn) {
    const Pose pose{0.5 * turn * std::numbers::pi / coarse_turns, 0.0};
    tries.push_back(through_pith(wood, catalogue, pose));
  }
  std::vector<LogPlan> plans = plan_tries(wood, catalogue, space, tries, cutoff);
  std::stable_sort(plans.begin(), plans.end(),
                   [](const LogPlan& a, const LogPlan& b) { return a.worth > b.worth; });
  // Stopped before it was planned, or not worth it.
  std::erase_if(plans, [](const LogPlan& plan) { return !plan.split; });
  if (plans.size() > seeds) plans.resize(seeds);
  for (LogPlan& plan : plans) move(wood, catalogue, space, plan);
  std::erase_if(plans, [](const LogPlan& plan) { return plan.worth <= 0.0; });
  return plans;
}

}  // namespace kerfwright::saw
