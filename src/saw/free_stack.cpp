#include "free_stack.hpp"

#include <algorithm>
#include <cmath>

#include "bench.hpp"
#include "blade_reach.hpp"
#include "mill_limits.hpp"
#include "worth.hpp"

namespace kerfwright::saw {
namespace {

constexpr double worth_a_look = 0.92;  // of the best stack, for a stack whose flitches are edged
constexpr double most_play = 8.0;      // mm up or down by which a stack is moved at most
constexpr double height_stride = 4.0;  // mm, between heights that are edged at first

/// The best that can come of a log below each cut and above it, both with what that cut costs.
struct BesideCuts {
  std::vector<double> below, above;  ///< [level]
};

BesideCuts best_beside_cuts(const StackTable& table, int kerf_strips) {
  const auto levels = static_cast<int>(table.cut_cost.size());
  const auto at = [](int level) { return static_cast<std::size_t>(level); };
  const auto worth_of = [&](std::size_t item, int bottom) {
    const bool inside = bottom >= 0 && bottom < table.levels;
    return inside ? static_cast<double>(table.worth[item][at(bottom)]) : 0.0;
  };
  BesideCuts best;
  best.below.assign(at(levels), 0.0);
  best.above.assign(at(levels), 0.0);
  double waste = 0.0;  // the best below where a kerf or more is left out; nothing at all costs none
  for (int b = 0; b < levels; ++b) {
    if (b >= kerf_strips) waste = std::max(waste, best.below[at(b - kerf_strips)]);
    double most = waste;
    for (std::size_t k = 0; k < table.items.size(); ++k) {
      const int bottom = b - table.items[k].pitch;
      const double worth = worth_of(k, bottom);
      if (worth > 0.0) most = std::max(most, best.below[at(bottom)] + worth);
    }
    best.below[at(b)] = most - static_cast<double>(table.cut_cost[at(b)]);
  }
  waste = 0.0;
  for (int b = levels - 1; b >= 0; --b) {
    if (b + kerf_strips < levels) waste = std::max(waste, best.above[at(b + kerf_strips)]);
    double most = waste;
    for (std::size_t k = 0; k < table.items.size(); ++k) {
      const int top = b + table.items[k].pitch;
      const double worth = worth_of(k, b);
      if (worth > 0.0 && top < levels) most = std::max(most, best.above[at(top)] + worth);
    }
    best.above[at(b)] = most - static_cast<double>(table.cut_cost[at(b)]);
  }
  return best;
}

/// The flitches of one pose, of the log or of a cant.
class FreeStack {
 public:
  FreeStack(const Wood& wood, const Catalogue& catalogue, const Pose& pose,
            const std::optional<CantClip>& clip, Bench& bench)
      : catalogue_(catalogue),
        pose_(pose),
        bench_(bench),
        profile_(wood, pose, catalogue.grid),
        flitches_(wood, catalogue, profile_, pose.slope, clip),
        edger_(catalogue, wood.border) {
    table_.cut_cost = cut_costs(wood, catalogue, flitches_);
    if (!clip) forbid_wide_cuts(wood, catalogue, pose, table_.cut_cost);
    forbid_cuts_at_metal(wood, catalogue, pose, clip, table_.cut_cost);
    table_.reach = blade_reach(wood, catalogue, pose, clip);
    flitches_.fill(table_);
  }

  void add_cant(const CantPlan& cant, double worth) {
    add_item(table_, cant_item(catalogue_, cant.size), cant.bottom, std::max(0.0, worth));
  }

  Stack best() {
    const double level = best_stack_lazily(table_, catalogue_.kerf_strips, 0.0, Known::exact,
                                           [&](int item, int bottom, double) {
                                             return flitches_.refine(table_, edger_, item, bottom);
                                           })
                             .worth;
    const auto near = near_to_best(worth_a_look * level);
    StackTable free = table_;
    for (std::size_t k = 0; k < near.size(); ++k) guess(k, near[k], free);
    return best_stack_lazily(free, catalogue_.kerf_strips, 0.0, Known::exact,
                             [&](int item, int bottom, double) {
                               const auto k = static_cast<std::size_t>(item);
                               const auto b = static_cast<std::size_t>(bottom);
                               free.worth[k][b] = std::min(free.worth[k][b], edged(k, bottom));
                               free.known[k][b] = Known::exact;
                               return bottom;
                             });
  }

  /// strips by which a stack is to be moved
  int middle_of_play(const Stack& stack) {
    const int shift = flitches_.middle_of_play(
        stack, static_cast<int>(most_play / catalogue_.grid.step),
        [&](std::size_t k, int bottom) { return static_cast<double>(edged(k, bottom)); });
    return shift_within_reach(table_.reach, table_.items, stack, shift);
  }

 private:
  using Bottoms = std::vector<int>;

  /// [class] bottoms of flitches that belong to a stack with level lanes worth `least`; their
  /// worths are made exact.
  std::vector<Bottoms> near_to_best(double least) {
    std::vector<Bottoms> near;
    for (bool all_exact = false; !all_exact;) {
      all_exact = true;
      const BesideCuts best = best_beside_cuts(table_, catalogue_.kerf_strips);
      near.assign(catalogue_.classes.size(), {});
      for (std::size_t k = 0; k < near.size(); ++k) {
        for (int b = 0; b < table_.levels; ++b) {
          const auto i = static_cast<std::size_t>(b);
          const auto top = static_cast<std::size_t>(b + table_.items[k].pitch);
          const auto worth = static_cast<double>(table_.worth[k][i]);
          if (worth <= 0.0 || best.below[i] + worth + best.above[top] < least) continue;
          near[k].push_back(b);
          if (table_.known[k][i] == Known::exact) continue;
          flitches_.refine(table_, edger_, static_cast<int>(k), b);
          all_exact = false;
        }
      }
    }
    return near;
  }

  /// Edges some of the flitches of a class, and takes those between to gain as much as the better
  /// of the two beside them; leaves no others.
  void guess(std::size_t k, const Bottoms& bottoms, StackTable& free) {
    const int stride =
        std::max(1, static_cast<int>(std::lround(height_stride / catalogue_.grid.step)));
    std::fill(free.worth[k].begin(), free.worth[k].end(), 0.0F);
    std::fill(free.known[k].begin(), free.known[k].end(), Known::rough);
    std::size_t from = 0;
    float before = 0.0F;
    for (std::size_t i = 0; i < bottoms.size(); ++i) {
      const bool first = i == 0 || bottoms[i] > bottoms[i - 1] + 1;
      const bool last = i + 1 == bottoms.size() || bottoms[i + 1] > bottoms[i] + 1;
      if (!first && !last && bottoms[i] < bottoms[from] + stride) continue;
      const float gain =
          edged(k, bottoms[i]) - table_.worth[k][static_cast<std::size_t>(bottoms[i])];
      for (std::size_t j = first ? i : from + 1; j <= i; ++j) {
        const auto b = static_cast<std::size_t>(bottoms[j]);
        free.worth[k][b] = table_.worth[k][b] + (j == i ? gain : std::max(gain, before));
      }
      free.known[k][static_cast<std::size_t>(bottoms[i])] = Known::exact;
      from = i;
      before = gain;
    }
  }

  float edged(std::size_t k, int bottom) {
    const FlitchClass& flitch = catalogue_.classes[k];
    return static_cast<float>(
        bench_.edge(flitch, flitches_.wood_at(flitch, bottom), pose_, catalogue_).worth);
  }

  const Catalogue& catalogue_;
  Pose pose_;
  Bench& bench_;
  Profile profile_;
  FlitchWorths flitches_;
  Edger edger_;
  StackTable table_;  ///< with level lanes
};

}  // namespace

LogPlan freely_edged(const Wood& wood, const Catalogue& catalogue, const LogPlan& plan,
                     double turn_cost) {
  if (plan.split || plan.around || plan.lying) return plan;
  const HeightGrid& grid = catalogue.grid;
  const auto classes = static_cast<int>(catalogue.classes.size());
  Bench bench(wood);
  FreeStack log(wood, catalogue, plan.pose, std::nullopt, bench);
  LogPlan made = plan;
  for (const Placed& placed : plan.stack.items) {
    if (placed.item < classes) continue;
    CantPlan& cant = made.cants[static_cast<std::size_t>(placed.item - classes)];
    const CantClip clip = cant_clip(plan.pose, grid.height(cant.bottom), cant.size);
    cant.stack = FreeStack(wood, catalogue, cant.pose, clip, bench).best();
    cant.worth = cant.stack.worth;
    log.add_cant(cant, cant.worth - turn_cost);
  }
  made.stack = log.best();
  made.worth = made.stack.worth;
  made.settled = true;
  keep_cants_of_stack(made, classes);
  return made;
}

LogPlan in_the_middle_of_its_play(const Wood& wood, const Catalogue& catalogue, LogPlan plan) {
  if (!plan.settled || !plan.cants.empty() || plan.split || plan.around || plan.lying) return plan;
  // Where some cuts cannot be made, a stack stays at the heights it was found.
  const bool any_cut = 2.0 * wood.reach_over_bark <= catalogue.max_cut_width;
  if (!any_cut || !wood.marks->metal().empty()) return plan;
  Bench bench(wood);
  FreeStack log(wood, catalogue, plan.pose, std::nullopt, bench);
  const int shift = log.middle_of_play(plan.stack);
  for (Placed& placed : plan.stack.items) placed.bottom += shift;
  return plan;
}

}  // namespace kerfwright::saw
