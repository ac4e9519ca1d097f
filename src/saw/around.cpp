#include "around.hpp"

#include <algorithm>
#include <limits>

namespace kerfwright::saw {
namespace {

constexpr double never = -std::numeric_limits<double>::infinity();
// Of two ways worth the same, the one with fewer turns and cuts.
constexpr double least_turn = 1e-6;
constexpr float least_cut = 1e-7F;
constexpr int both = 3;  // bits of the two directions

/// A flitch that the ladders hold, and what it is worth between each pair of faces.
struct Flitch {
  int item = 0, bottom = 0;
  std::vector<float> worth;  ///< [pair of the other direction], a bound unless known
  std::vector<char> known;
};

/// One cut from one pair of faces of a direction to the next.
struct Move {
  std::size_t to = 0;  ///< pair
  bool upper = true;
  int rung = 0;     ///< of the ladder
  int flitch = -1;  ///< that comes off; -1 = waste
};

/// What a direction may look like, and how it goes on.
struct Way {
  std::vector<int> ladder;
  std::vector<Between> pairs;                           ///< from the closest to bark on both sides
  std::array<std::vector<std::vector<Move>>, 2> moves;  ///< [upper or lower face][pair]
  std::vector<std::vector<int>> hearts;  ///< [pair] flitches that may be left between both faces
  std::vector<Flitch> flitches;
  std::vector<std::vector<float>> costs;  ///< [pair of the other direction][rung]
};

/// Best from a state on, by the face that is up: upper and lower of the first direction, then of
/// the second.
using Values = std::array<double, 4>;

struct Choice {
  const Move* move = nullptr;
  int direction = 0;
};

class Solver {
 public:
  Solver(AroundWorths& worths, const Ladders& ladders, const AroundLimits& limits)
      : worths_(worths),
        turn_(std::max(limits.turn_cost, least_turn)),
        lowest_cut_(limits.lowest_cut) {
    for (std::size_t d = 0; d < 2; ++d) list_pairs(ways_[d], ladders[d]);
    for (int d = 0; d < 2; ++d) list_moves(d);
  }

  AroundPlan plan(double cutoff) {
    while (true) {
      // In which directions flitches were taken is only told apart where that is needed.
      AroundPlan plan = best_from(both);
      if (plan.worth <= cutoff) return {};
      if (!all_known_) continue;
      if (takes_both_ways(plan)) return plan;
      plan = best_from(0);
      if (plan.worth <= cutoff) return {};
      if (all_known_) return plan;
    }
  }

 private:
  Way& way(int direction) { return ways_[static_cast<std::size_t>(direction)]; }

  void list_pairs(Way& way, const std::vector<int>& ladder) const {
    const Catalogue& catalogue = worths_.catalogue();
    way.ladder = ladder;
    const int count = static_cast<int>(ladder.size());
    const auto at = [&](int rung) { return ladder[static_cast<std::size_t>(rung)]; };
    const double least = std::max(lowest_cut_, 0.5 * catalogue.grid.step);
    for (int rungs = 1; rungs <= count + 1; ++rungs) {
      for (int lower = -1; lower + rungs <= count; ++lower) {
        const int upper = lower + rungs;
        if (lower >= 0 && upper < count &&
            catalogue.grid.step * (at(upper) - at(lower)) - catalogue.kerf < least - 1e-9) {
          continue;
        }
        Between between;
        if (lower >= 0) between.lower = at(lower);
        if (upper < count) between.upper = at(upper);
        way.pairs.push_back(between);
      }
    }
  }

  std::size_t pair_of(const Way& way, const Between& between) const {
    for (std::size_t i = 0; i < way.pairs.size(); ++i) {
      if (way.pairs[i].lower == between.lower && way.pairs[i].upper == between.upper) return i;
    }
    return way.pairs.size();
  }

  /// The flitches between two levels, the lower their bottom, the upper a kerf above them.
  std::vector<int> flitches_between(int direction, int bottom, int above) {
    std::vector<int> found;
    Way& mine = way(direction);
    const auto& classes = worths_.catalogue().classes;
    for (std::size_t k = 0; k < classes.size(); ++k) {
      if (bottom + classes[k].pitch != above) continue;
      const auto is_it = [&](const Flitch& flitch) {
        return flitch.item == static_cast<int>(k) && flitch.bottom == bottom;
      };
      auto it = std::find_if(mine.flitches.begin(), mine.flitches.end(), is_it);
      if (it == mine.flitches.end()) {
        mine.flitches.push_back({static_cast<int>(k), bottom, {}, {}});
        it = mine.flitches.end() - 1;
        for (const Between& other : way(1 - direction).pairs) {
          it->worth.push_back(worths_.bound(direction, it->item, bottom, other));
          it->known.push_back(!other.lower && !other.upper ? 1 : 0);
        }
      }
      found.push_back(static_cast<int>(it - mine.flitches.begin()));
    }
    return found;
  }

  void list_moves(int direction) {
    Way& mine = way(direction);
    const int kerf = worths_.catalogue().kerf_strips;
    for (const Between& from : mine.pairs) {
      for (auto& moves : mine.moves) moves.emplace_back();
      mine.hearts.emplace_back();
      if (from.lower && from.upper) {
        mine.hearts.back() = flitches_between(direction, *from.lower, *from.upper);
      }
      for (std::size_t r = 0; r < mine.ladder.size(); ++r) {
        const int level = mine.ladder[r];
        for (const bool upper : {true, false}) {
          Between next = from;
          auto& face = upper ? next.upper : next.lower;
          if (face && (upper ? *face - level : level - *face) < kerf) continue;
          face = level;
          const std::size_t to = pair_of(mine, next);
          if (to == mine.pairs.size()) continue;
          const Move waste{to, upper, static_cast<int>(r), -1};
          auto& moves = mine.moves[upper ? 0 : 1].back();
          moves.push_back(waste);
          const auto& before = upper ? from.upper : from.lower;
          if (!before) continue;
          const auto flitches = upper ? flitches_between(direction, level, *before)
                                      : flitches_between(direction, *before, level);
          for (const int flitch : flitches) {
            moves.push_back({to, upper, static_cast<int>(r), flitch});
          }
        }
      }
    }
    for (const Between& other : way(1 - direction).pairs) {
      const std::vector<float> all = worths_.cut_costs_between(direction, other);
      mine.costs.emplace_back();
      for (const int level : mine.ladder) {
        mine.costs.back().push_back(all[static_cast<std::size_t>(level)] + least_cut);
      }
    }
  }

  /// Where the log stands: the pair of faces in each direction, and the directions in which a
  /// flitch was taken, a bit each.
  struct State {
    std::size_t a = 0, b = 0;
    int taken = 0;
  };

  std::size_t place(const State& state) const {
    const std::size_t layer = static_cast<std::size_t>(state.taken) * ways_[0].pairs.size();
    return (layer + state.a) * ways_[1].pairs.size() + state.b;
  }

  State after(const State& state, int direction, const Move& move) const {
    State next = state;
    (direction == 0 ? next.a : next.b) = move.to;
    if (worth_of(state, direction, move) > 0.0F) next.taken |= 1 << direction;
    return next;
  }

  /// Of the flitch that comes off; a flitch that gives nothing is waste.
  float worth_of(const State& state, int direction, const Move& move) const {
    if (move.flitch < 0) return 0.0F;
    return ways_[static_cast<std::size_t>(direction)]
        .flitches[static_cast<std::size_t>(move.flitch)]
        .worth[direction == 0 ? state.b : state.a];
  }

  /// Best gain of a further cut in a face, and which.
  struct Best {
    double gain = never;
    Choice choice;
  };

  Best best_in(int direction, bool upper, const State& state) const {
    const Way& mine = ways_[static_cast<std::size_t>(direction)];
    const std::size_t here = direction == 0 ? state.a : state.b;
    const std::size_t other = direction == 0 ? state.b : state.a;
    const auto up = static_cast<std::size_t>(2 * direction + (upper ? 0 : 1));
    Best best;
    for (const Move& move : mine.moves[upper ? 0 : 1][here]) {
      const double gain =
          values_[place(after(state, direction, move))][up] +
          static_cast<double>(worth_of(state, direction, move)) -
          static_cast<double>(mine.costs[other][static_cast<std::size_t>(move.rung)]);
      if (gain > best.gain) best = {gain, {&move, direction}};
    }
    return best;
  }

  /// A flitch that is left, and the direction in which it lies.
  struct Left {
    double worth = never;  ///< 0 where all that is left is waste
    int direction = 0;
    int flitch = -1;
  };

  /// What is left counts as the heart: the best that it can be.
  Left heart(const State& state) const {
    Left best;
    if (state.taken == both) best.worth = 0.0;
    for (int d = 0; d < 2; ++d) {
      if ((state.taken | 1 << d) != both) continue;
      const Way& mine = ways_[static_cast<std::size_t>(d)];
      for (const int flitch : mine.hearts[d == 0 ? state.a : state.b]) {
        const double worth = static_cast<double>(
            mine.flitches[static_cast<std::size_t>(flitch)].worth[d == 0 ? state.b : state.a]);
        if (worth > std::max(best.worth, 0.0)) best = {worth, d, flitch};
      }
    }
    return best;
  }

  static bool takes_both_ways(const AroundPlan& plan) {
    int taken = plan.heart ? 1 << plan.heart->direction : 0;
    for (const AroundStep& step : plan.steps) {
      if (step.flitch) taken |= 1 << step.direction;
    }
    return taken == both;
  }

  /// @param taken directions that count as having given a flitch before the first cut
  AroundPlan best_from(int taken) {
    first_taken_ = taken;
    solve();
    return trace();
  }

  void solve() {
    const std::size_t count = ways_[0].pairs.size() * ways_[1].pairs.size();
    values_.resize(count * (both + 1));
    for (std::size_t a = 0; a < ways_[0].pairs.size(); ++a) {
      for (std::size_t b = 0; b < ways_[1].pairs.size(); ++b) {
        for (int taken = first_taken_; taken <= both; ++taken) solve({a, b, taken});
      }
    }
  }

  void solve(const State& state) {
    std::array<double, 4> gains;
    for (int face = 0; face < 4; ++face) {
      gains[static_cast<std::size_t>(face)] = best_in(face / 2, face % 2 == 0, state).gain;
    }
    const double stop = heart(state).worth;
    for (std::size_t up = 0; up < 4; ++up) {
      double best = stop;
      for (std::size_t face = 0; face < 4; ++face) {
        best = std::max(best, gains[face] - (face == up ? 0.0 : turn_));
      }
      values_[place(state)][up] = best;
    }
  }

  AroundFlitch taken(int direction, int flitch, std::size_t other) {
    Flitch& found = way(direction).flitches[static_cast<std::size_t>(flitch)];
    const Between& between = way(1 - direction).pairs[other];
    if (found.known[other] == 0) {
      found.worth[other] = worths_.exact(direction, found.item, found.bottom, between);
      found.known[other] = 1;
      all_known_ = false;
    }
    return {direction, found.item, found.bottom, between.lower, between.upper};
  }

  /// The best way as the worths are known now; what it uses and was a bound becomes exact.
  AroundPlan trace() {
    AroundPlan plan;
    plan.poses = {worths_.pose(0), worths_.pose(1)};
    all_known_ = true;
    State state{ways_[0].pairs.size() - 1, ways_[1].pairs.size() - 1, first_taken_};
    std::optional<int> up;
    while (true) {
      const Left left = heart(state);
      double best = left.worth;
      Choice choice;
      for (int face = 0; face < 4; ++face) {
        const Best found = best_in(face / 2, face % 2 == 0, state);
        const double gain = found.gain - (!up || *up == face ? 0.0 : turn_);
        if (gain > best) {
          best = gain;
          choice = found.choice;
        }
      }
      if (!up) plan.worth = best;
      if (choice.move == nullptr) {
        if (left.flitch >= 0) {
          plan.heart = taken(left.direction, left.flitch, left.direction == 0 ? state.b : state.a);
        }
        return plan;
      }
      const int d = choice.direction;
      const Move& move = *choice.move;
      AroundStep step{d, move.upper, way(d).ladder[static_cast<std::size_t>(move.rung)], {}};
      const bool gives = worth_of(state, d, move) > 0.0F;
      if (gives) step.flitch = taken(d, move.flitch, d == 0 ? state.b : state.a);
      plan.steps.push_back(step);
      state = after(state, d, move);
      up = 2 * d + (move.upper ? 0 : 1);
    }
  }

  AroundWorths& worths_;
  double turn_, lowest_cut_;
  int first_taken_ = 0;
  std::array<Way, 2> ways_;
  std::vector<Values> values_;
  bool all_known_ = false;
};

}  // namespace

AroundPlan best_around(AroundWorths& worths, const Ladders& ladders, const AroundLimits& limits,
                       double cutoff) {
  if (ladders[0].empty() || ladders[1].empty()) return {};
  return Solver(worths, ladders, limits).plan(cutoff);
}

}  // namespace kerfwright::saw
