#include <algorithm>
#include <cmath>
#include <numbers>

#include "around.hpp"
#include "frame.hpp"

namespace kerfwright::saw {
namespace {

constexpr std::size_t most_rungs = 12;  // of a ladder
constexpr std::size_t most_hearts = 4;  // sections of heart that are tried about the pith
constexpr std::size_t seed_poses = 2;   // of each kind of plan
constexpr std::size_t moved = 2;        // best ways whose heart and turn are moved
constexpr double first_move = 12;       // mm by which a heart is moved at first
constexpr double worth_a_look = 0.97;   // of the best so far, for a way to be moved
constexpr int most_rounds = 12;

/// A heart in a pose, and levels that go into the ladders besides those that are best about it.
struct Try {
  Pose first;
  double slope = 0;  ///< of the second direction
  int item = 0;      ///< flitch class of the heart, in the first direction
  int bottom = 0;
  double width = 0;  ///< mm, of the heart in the second direction
  int beside = 0;    ///< level of its lower side in the second direction
  Ladders more = {};
};

/// Both directions, the second first.
Try swapped(const Try& one) {
  Try other = one;
  other.first = quarter_turn(one.first, one.slope);
  other.slope = -one.first.slope;
  return other;
}

int level_at(const HeightGrid& grid, double height) {
  return static_cast<int>(std::lround((height - grid.origin) / grid.step));
}

void add_rungs(std::vector<int>& ladder, const std::vector<int>& levels, int top) {
  for (const int level : levels) {
    if (level < 0 || level > top || ladder.size() >= most_rungs) continue;
    if (std::find(ladder.begin(), ladder.end(), level) == ladder.end()) ladder.push_back(level);
  }
}

Ladders ladders_of(AroundWorths& worths, const Try& one) {
  const Catalogue& catalogue = worths.catalogue();
  const HeightGrid& grid = catalogue.grid;
  const FlitchClass& flitch = catalogue.classes[static_cast<std::size_t>(one.item)];
  const std::array<StackItem, 2> hearts = {
      StackItem{flitch.strips, flitch.pitch},
      StackItem{grid.strips(one.width), grid.strips(one.width + catalogue.kerf)}};
  const std::array<int, 2> bottoms = {one.bottom, one.beside};
  Ladders ladders;
  for (int d = 0; d < 2; ++d) {
    const auto i = static_cast<std::size_t>(d);
    std::vector<int>& ladder = ladders[i];
    add_rungs(ladder, {bottoms[i], bottoms[i] + hearts[i].pitch}, grid.levels);
    add_rungs(ladder, one.more[i], grid.levels);
    const Between other{bottoms[1 - i], bottoms[1 - i] + hearts[1 - i].pitch};
    const bool thick = 2 * hearts[1 - i].strips >= hearts[i].strips;
    if (thick) add_rungs(ladder, worths.levels_about(d, hearts[i], bottoms[i], other), grid.levels);
    add_rungs(ladder, worths.levels_about(d, hearts[i], bottoms[i], {}), grid.levels);
    std::sort(ladder.begin(), ladder.end());
  }
  return ladders;
}

bool fits(const Catalogue& catalogue, const Try& one) {
  const HeightGrid& grid = catalogue.grid;
  const FlitchClass& flitch = catalogue.classes[static_cast<std::size_t>(one.item)];
  return one.bottom >= 0 && one.bottom + flitch.pitch < grid.levels && one.beside >= 0 &&
         one.beside + grid.strips(one.width + catalogue.kerf) < grid.levels;
}

/// A way to saw around and the try that it came of.
struct Found {
  Try from;
  LogPlan plan;
};

std::vector<Found> plan_tries(const Wood& wood, const Catalogue& catalogue,
                              const SearchSpace& space, const std::vector<Try>& tries,
                              double cutoff) {
  std::vector<Found> found(tries.size());
  const AroundLimits limits{space.turn_cost, space.lowest_cut};
#pragma omp parallel for schedule(dynamic, 1)
  for (std::size_t i = 0; i < tries.size(); ++i) {
    found[i].from = tries[i];
    if (!fits(catalogue, tries[i]) || space.watch.stopped()) continue;
    AroundWorths worths(wood, catalogue, tries[i].first, tries[i].slope);
    AroundPlan plan = best_around(worths, ladders_of(worths, tries[i]), limits, cutoff);
    found[i].plan.pose = tries[i].first;
    found[i].plan.worth = plan.worth;
    found[i].plan.around = std::move(plan);
  }
  return found;
}

/// Sections that a heart about the pith may have: those of the order, the largest first.
std::vector<std::pair<int, double>> heart_sections(const Wood& wood, const Catalogue& catalogue) {
  std::vector<std::pair<int, double>> sections;  // class, width
  for (std::size_t k = 0; k < catalogue.classes.size(); ++k) {
    for (const Lane& lane : catalogue.classes[k].lanes) {
      const double across = std::hypot(catalogue.classes[k].thickness, lane.width);
      if (across < 2.0 * wood.reach()) sections.emplace_back(static_cast<int>(k), lane.width);
    }
  }
  const auto area = [&](const std::pair<int, double>& section) {
    return catalogue.classes[static_cast<std::size_t>(section.first)].thickness * section.second;
  };
  std::stable_sort(sections.begin(), sections.end(),
                   [&](const auto& a, const auto& b) { return area(a) > area(b); });
  sections.erase(std::unique(sections.begin(), sections.end()), sections.end());
  if (sections.size() > most_hearts) sections.resize(most_hearts);
  return sections;
}

/// Puts the middle of the heart on the pith.
Try about_pith(const Wood& wood, const Catalogue& catalogue, Try one) {
  const FlitchClass& flitch = catalogue.classes[static_cast<std::size_t>(one.item)];
  const Pose second = quarter_turn(one.first, one.slope);
  one.bottom = level_at(catalogue.grid, pith_height(wood, one.first) - 0.5 * flitch.thickness);
  one.beside = level_at(catalogue.grid, pith_height(wood, second) - 0.5 * one.width);
  return one;
}

/// The same cant, sawn from inside as a heart with what is about it.
Try of_cant(const Wood& wood, const Catalogue& catalogue, const LogPlan& plan,
            const CantPlan& cant) {
  const HeightGrid& grid = catalogue.grid;
  Try one{cant.pose, -plan.pose.slope, 0, 0, cant.size, 0, {}};
  // The second direction is the first setup upside down.
  const auto mirrored = [&](int bottom, double size) {
    return level_at(grid, -(grid.height(bottom) + size));
  };
  one.beside = mirrored(cant.bottom, cant.size);
  const double pith_at = pith_height(wood, cant.pose);
  double nearest = 1e9;
  for (const Placed& placed : cant.stack.items) {
    const FlitchClass& flitch = catalogue.classes[static_cast<std::size_t>(placed.item)];
    one.more[0].push_back(placed.bottom);
    one.more[0].push_back(placed.bottom + flitch.pitch);
    const double off = std::abs(grid.height(placed.bottom) + 0.5 * flitch.thickness - pith_at);
    if (off >= nearest) continue;
    nearest = off;
    one.item = placed.item;
    one.bottom = placed.bottom;
  }
  for (const Placed& placed : plan.stack.items) {
    if (placed.item >= static_cast<int>(catalogue.classes.size())) continue;
    const FlitchClass& flitch = catalogue.classes[static_cast<std::size_t>(placed.item)];
    const int bottom = mirrored(placed.bottom, flitch.thickness);
    one.more[1].push_back(bottom);
    one.more[1].push_back(bottom + flitch.pitch);
  }
  return one;
}

std::vector<Try> first_tries(const Wood& wood, const Catalogue& catalogue,
                             const std::vector<LogPlan>& seeds) {
  std::vector<Try> tries;
  std::size_t live = 0;
  std::size_t with_cant = 0;
  const auto sections = heart_sections(wood, catalogue);
  for (const LogPlan& plan : seeds) {
    if (plan.split || plan.around) continue;
    std::size_t& count = plan.cants.empty() ? live : with_cant;
    if (++count > seed_poses) continue;
    double slope = 0.0;
    for (const CantPlan& cant : plan.cants) {
      slope = cant.pose.slope;
      if (!cant.stack.items.empty()) tries.push_back(of_cant(wood, catalogue, plan, cant));
    }
    for (const auto& [item, width] : sections) {
      const Try one{plan.pose, slope, item, 0, width, 0, {}};
      tries.push_back(about_pith(wood, catalogue, one));
      tries.push_back(about_pith(wood, catalogue, swapped(one)));
    }
  }
  return tries;
}

/// Moves heart and turn while that pays.
void move(const Wood& wood, const Catalogue& catalogue, const SearchSpace& space, Found& best) {
  const HeightGrid& grid = catalogue.grid;
  int shift = std::max(1, static_cast<int>(std::lround(first_move / grid.step)));
  double turn = std::numbers::pi / 90.0;
  const double finest = std::numbers::pi / space.turns;
  for (int round = 0; round < most_rounds; ++round) {
    std::vector<Try> tries;
    for (const int sign : {-1, 1}) {
      Try one = best.from;
      one.bottom += sign * shift;
      tries.push_back(one);
      one = best.from;
      one.beside += sign * shift;
      tries.push_back(one);
      one = best.from;
      one.first.roll += sign * turn;
      tries.push_back(one);
    }
    for (Try& one : tries) one.more = {};
    bool better = false;
    for (Found& found : plan_tries(wood, catalogue, space, tries, best.plan.worth)) {
      if (found.plan.worth <= best.plan.worth + 1e-6) continue;
      best = std::move(found);
      better = true;
    }
    if (better) continue;
    if (shift == 1 && turn <= finest) break;
    shift = std::max(1, shift / 2);
    turn = std::max(finest, turn / 2);
  }
}

}  // namespace

std::vector<LogPlan> search_around(const Wood& wood, const Catalogue& catalogue,
                                   const SearchSpace& space, const std::vector<LogPlan>& seeds,
                                   double worth_to_beat) {
  space.watch.say("around", 0.0);
  const auto tries = first_tries(wood, catalogue, seeds);
  auto found = plan_tries(wood, catalogue, space, tries, worth_a_look * worth_to_beat);
  std::stable_sort(found.begin(), found.end(),
                   [](const Found& a, const Found& b) { return a.plan.worth > b.plan.worth; });
  std::erase_if(found, [](const Found& one) { return one.plan.worth <= 0.0; });
  if (found.size() > moved) found.resize(moved);
  std::vector<LogPlan> plans;
  for (Found& one : found) {
    move(wood, catalogue, space, one);
    plans.push_back(std::move(one.plan));
  }
  return plans;
}

}  // namespace kerfwright::saw
