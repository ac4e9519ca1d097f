#include "search.hpp"

#include <algorithm>
#include <bit>
#include <cstdlib>
#include <map>
#include <numbers>
#include <numeric>

#include "free_stack.hpp"

namespace kerfwright::saw {
namespace {

constexpr std::size_t batch =
    16;  // poses between two looks at the best so far; the same on any machine
constexpr std::size_t few_at_once = 2;  // likewise, where they are no more than a batch
constexpr double not_bounded = 1e300;
constexpr std::size_t always_looked_at = 12;  // poses, even where the search is stopped at once
constexpr int most_halvings = 5;              // of the turns, from coarse to fine
constexpr int coarse_turns = 30;              // over half a circle, at the first look for cants
constexpr int coarse_cants = 20;              // strips between cants at the first look
constexpr int fine_cants = 8;                 // and near the best poses
constexpr std::size_t lifted = 8;             // level poses that are looked at with lifts, too
constexpr std::size_t seeds = 3;              // poses whose neighbourhood is searched
constexpr std::size_t finals = 2;             // poses that are planned exactly
constexpr int few_turns = 6;                  // at which leaning lanes must bring something …
constexpr double gain_that_counts = 1.06;  // … as much as this times level ones, to be looked for
constexpr int free_turns = 18;         // over half a circle, at the first look for leaning lanes
constexpr std::size_t free_seeds = 2;  // poses from which it goes on
constexpr double most_gain = 1.6;      // that leaning lanes and cross-cuts are taken to bring
constexpr double worth_a_look = 0.97;  // of the best so far, for a pose to be a seed

/// A pose by its place in the space.
struct Place {
  int turn = 0;
  int slope = 0;
  auto operator<=>(const Place&) const = default;
};

Pose pose_at(const SearchSpace& space, const Place& place) {
  return {place.turn * std::numbers::pi / space.turns,
          space.slopes[static_cast<std::size_t>(place.slope)]};
}

/// Past half a circle the same planes lie upside down, and the slope is mirrored.
Place wrapped(const SearchSpace& space, Place place) {
  const int mirror = static_cast<int>(space.slopes.size()) - 1;
  if (place.turn < 0) return {place.turn + space.turns, mirror - place.slope};
  if (place.turn >= space.turns) return {place.turn - space.turns, mirror - place.slope};
  return place;
}

bool better(const LogPlan& a, const LogPlan& b) {
  if (a.worth != b.worth) return a.worth > b.worth;
  return a.pose.roll != b.pose.roll ? a.pose.roll < b.pose.roll : a.pose.slope < b.pose.slope;
}

void keep_best(std::vector<LogPlan>& plans, std::size_t most) {
  std::erase_if(plans, [](const LogPlan& plan) { return plan.worth <= 0.0; });
  std::stable_sort(plans.begin(), plans.end(), better);
  if (plans.size() > most) plans.resize(most);
}

/// 0 … count - 1 in an order in which any first part is spread over the whole: with the bits of the
/// numbers turned about.
std::vector<std::size_t> spread(std::size_t count) {
  std::vector<std::size_t> all;
  const int bits = std::bit_width(count);
  for (std::size_t k = 0; k < std::size_t{1} << bits; ++k) {
    std::size_t turned = 0;
    for (int bit = 0; bit < bits; ++bit) turned |= ((k >> bit) & 1U) << (bits - 1 - bit);
    if (turned < count) all.push_back(turned);
  }
  return all;
}

/// Plans in the given places, each with the same cutoff, in the order of the places.
std::vector<LogPlan> plan_places(const Wood& wood, const Catalogue& catalogue,
                                 const SearchSpace& space, const std::vector<Place>& places,
                                 const CantSearch& cants, double cutoff) {
  std::vector<LogPlan> plans(places.size());
  const std::vector<std::size_t> order = spread(places.size());
#pragma omp parallel for schedule(dynamic, 1)
  for (std::size_t k = 0; k < order.size(); ++k) {
    if (space.watch.stopped()) continue;
    const std::size_t i = order[k];
    PoseSearch search(wood, catalogue, pose_at(space, places[i]));
    plans[i] = search.best_with_cants(cants, cutoff);
  }
  return plans;
}

/// The plans of the places that were looked at; worth 0 where there is none above the cutoff.
using Found = std::map<Place, LogPlan>;

std::vector<Place> best_places(const Found& found, std::size_t most) {
  std::vector<std::pair<double, Place>> sorted;
  for (const auto& [place, plan] : found) {
    if (plan.worth > 0.0) sorted.emplace_back(plan.worth, place);
  }
  std::stable_sort(sorted.begin(), sorted.end(),
                   [](const auto& a, const auto& b) { return a.first > b.first; });
  std::vector<Place> places;
  for (const auto& entry : sorted) {
    if (places.size() < most) places.push_back(entry.second);
  }
  return places;
}

std::vector<Place> not_in(const Found& found, std::vector<Place> places) {
  std::erase_if(places, [&](const Place& place) { return found.contains(place); });
  std::sort(places.begin(), places.end());
  places.erase(std::unique(places.begin(), places.end()), places.end());
  return places;
}

void look(const Wood& wood, const Catalogue& catalogue, const SearchSpace& space,
          const std::vector<Place>& places, const CantSearch& cants, double cutoff, Found& found) {
  const std::vector<Place> fresh = not_in(found, places);
  auto plans = plan_places(wood, catalogue, space, fresh, cants, cutoff);
  for (std::size_t i = 0; i < fresh.size(); ++i) found[fresh[i]] = std::move(plans[i]);
}

double best_worth(const Found& found) {
  double best = 0.0;
  for (const auto& [place, plan] : found) best = std::max(best, plan.worth);
  return best;
}

std::vector<Place> coarse_places(const SearchSpace& space, const std::vector<int>& slopes) {
  const int step = std::max(1, space.turns / coarse_turns);
  std::vector<Place> places;
  for (int turn = 0; turn < space.turns; turn += step) {
    for (const int slope : slopes) places.push_back({turn, slope});
  }
  return places;
}

std::vector<Place> neighbours(const SearchSpace& space, const std::vector<Place>& of, int step) {
  std::vector<Place> places;
  const int lifts = static_cast<int>(space.slopes.size());
  for (const Place& place : of) {
    for (const auto& [turn, slope] : {std::pair{-step, 0}, {step, 0}, {0, -1}, {0, 1}}) {
      const Place next = wrapped(space, {place.turn + turn, place.slope + slope});
      if (next.slope >= 0 && next.slope < lifts) places.push_back(next);
    }
  }
  return places;
}

/// All places of the space, spread over it from coarse to fine, so that one may stop anywhere:
/// level poses of half as many turns come with lifted ones of a quarter.
std::vector<Place> places_from_coarse_to_fine(const SearchSpace& space) {
  const int lifts = static_cast<int>(space.slopes.size());
  std::vector<Place> places;
  for (int turn = 0; turn < space.turns; ++turn) {
    for (int slope = 0; slope < lifts; ++slope) places.push_back({turn, slope});
  }
  const auto fineness = [&](const Place& place) {
    const int halvings =
        place.turn == 0 ? most_halvings : std::countr_zero(static_cast<unsigned>(place.turn));
    return most_halvings - std::min(most_halvings, halvings) + std::abs(place.slope - lifts / 2);
  };
  std::stable_sort(places.begin(), places.end(),
                   [&](const Place& a, const Place& b) { return fineness(a) < fineness(b); });
  return places;
}

/// What sawing through and through can bring at most in each place.
std::vector<double> live_bounds(const Wood& wood, const Catalogue& catalogue,
                                const SearchSpace& space, const std::vector<Place>& places) {
  std::vector<double> bound(places.size());
#pragma omp parallel for schedule(dynamic, 4)
  for (std::size_t i = 0; i < places.size(); ++i) {
    // However soon it is stopped, some poses are looked at.
    if (i >= always_looked_at && space.watch.stopped()) continue;
    bound[i] = PoseSearch(wood, catalogue, pose_at(space, places[i])).live_bound();
  }
  return bound;
}

}  // namespace

std::vector<LogPlan> search_live(const Wood& wood, const Catalogue& catalogue,
                                 const SearchSpace& space) {
  const std::vector<Place> places = places_from_coarse_to_fine(space);
  const std::size_t count = places.size();
  // Few are all planned, and none of them is bounded before.
  const bool few = count <= batch;
  const std::vector<double> bound =
      few ? std::vector<double>(count, not_bounded) : live_bounds(wood, catalogue, space, places);
  std::vector<std::size_t> order(count);
  std::iota(order.begin(), order.end(), std::size_t{0});
  std::stable_sort(order.begin(), order.end(), [&](std::size_t a, std::size_t b) {
    return bound[a] != bound[b] ? bound[a] > bound[b] : places[a] < places[b];
  });
  const auto most = static_cast<std::size_t>(space.keep);
  std::vector<LogPlan> kept;
  const auto cutoff_for = [&] {
    if (!few) return kept.empty() ? 0.0 : kept.front().worth;
    return kept.size() < most ? 0.0 : kept.back().worth;  // what is not kept need not be known
  };
  const std::size_t at_once = few && most < count ? few_at_once : batch;
  for (std::size_t start = 0; start < count; start += at_once) {
    const double cutoff = cutoff_for();
    if (bound[order[start]] <= cutoff) break;
    if (!few && start > 0 && space.watch.stopped()) break;
    space.watch.say("through and through", static_cast<double>(start) / static_cast<double>(count));
    const std::size_t size = std::min(at_once, count - start);
    std::vector<LogPlan> found(size);
#pragma omp parallel for schedule(dynamic, 1)
    for (std::size_t i = 0; i < size; ++i) {
      const std::size_t at = order[start + i];
      if (bound[at] <= cutoff) continue;
      found[i] = PoseSearch(wood, catalogue, pose_at(space, places[at])).best_live(cutoff);
    }
    for (LogPlan& plan : found) kept.push_back(std::move(plan));
    keep_best(kept, most);
  }
  return kept;
}

std::vector<LogPlan> search_cants(const Wood& wood, const Catalogue& catalogue,
                                  const SearchSpace& space, double worth_to_beat) {
  if (catalogue.cant_sizes.empty()) return {};
  const double level = space.slopes[space.slopes.size() / 2];
  CantSearch cants{coarse_cants, {level}, space.turn_cost, space.must_cant};
  Found coarse, fine;
  const int middle = static_cast<int>(space.slopes.size()) / 2;
  const int aside = middle / 2 + 1;
  double cutoff = worth_a_look * worth_to_beat;
  space.watch.say("cants", 0.0);
  look(wood, catalogue, space, coarse_places(space, {middle}), cants, cutoff, coarse);
  if (middle >= aside) {
    cutoff = worth_a_look * std::max(worth_to_beat, best_worth(coarse));
    std::vector<Place> places;
    for (const Place& flat : best_places(coarse, lifted)) {
      for (const int slope : {middle - aside, middle + aside}) places.push_back({flat.turn, slope});
    }
    look(wood, catalogue, space, places, cants, cutoff, coarse);
  }

  space.watch.say("cants", 0.5);
  cants.step = fine_cants;
  std::vector<Place> front = best_places(coarse, seeds);
  cutoff = worth_a_look * std::max(worth_to_beat, best_worth(coarse));
  look(wood, catalogue, space, front, cants, cutoff, fine);
  for (int step = std::max(1, space.turns / coarse_turns / 2); step >= 1; step /= 2) {
    look(wood, catalogue, space, neighbours(space, best_places(fine, seeds), step), cants, cutoff,
         fine);
  }
  space.watch.say("cants", 0.8);
  cants.step = 1;
  cants.slopes = space.slopes;
  cutoff = worth_a_look * std::max(worth_to_beat, best_worth(fine));
  auto plans = plan_places(wood, catalogue, space, best_places(fine, finals), cants, cutoff);
  // What sawing costs is only known once a plan is written, so that near winners go along.
  for (auto& [place, plan] : fine) plans.push_back(std::move(plan));
  if (space.watch.stopped()) {
    for (auto& [place, plan] : coarse) plans.push_back(std::move(plan));
  }
  keep_best(plans, static_cast<std::size_t>(space.keep));
  return plans;
}

namespace {

/// Plans with lanes that lean; says how many times as much they bring, at best, as level ones in
/// the same pose.
double look_freely(const Wood& wood, const Catalogue& catalogue, const SearchSpace& space,
                   const std::vector<Place>& places, double cutoff, Found& found) {
  const std::vector<Place> fresh = not_in(found, places);
  std::vector<LogPlan> plans(fresh.size());
  std::vector<double> gains(fresh.size(), 1.0);
#pragma omp parallel for schedule(dynamic, 1)
  for (std::size_t i = 0; i < fresh.size(); ++i) {
    if (space.watch.stopped()) continue;
    const LogPlan level = PoseSearch(wood, catalogue, pose_at(space, fresh[i])).best_live(cutoff);
    if (level.worth <= 0.0) continue;
    plans[i] = freely_edged(wood, catalogue, level, space.turn_cost);
    gains[i] = plans[i].worth / level.worth;
  }
  double gain = 1.0;
  for (std::size_t i = 0; i < fresh.size(); ++i) {
    found[fresh[i]] = std::move(plans[i]);
    gain = std::max(gain, gains[i]);
  }
  return gain;
}

std::vector<Place> level_places(const SearchSpace& space, int step) {
  std::vector<Place> places;
  const int level = static_cast<int>(space.slopes.size()) / 2;
  for (int turn = 0; turn < space.turns; turn += step) places.push_back({turn, level});
  return places;
}

}  // namespace

std::vector<LogPlan> search_free(const Wood& wood, const Catalogue& catalogue,
                                 const SearchSpace& space, double worth_to_beat) {
  const auto step_for = [&](int turns) { return std::max(1, space.turns / turns); };
  Found found;
  space.watch.say("lanes that lean", 0.0);
  const double gain = look_freely(wood, catalogue, space, level_places(space, step_for(few_turns)),
                                  worth_to_beat / most_gain, found);
  if (gain < gain_that_counts) return {};
  int step = step_for(free_turns);
  look_freely(wood, catalogue, space, level_places(space, step), worth_to_beat / most_gain, found);
  const auto least = [&] { return worth_a_look * std::max(worth_to_beat, best_worth(found)); };
  while (best_worth(found) > least() && step > 1) {
    space.watch.say("lanes that lean", 0.5);
    step = (step + 1) / 2;
    std::vector<Place> places = best_places(found, free_seeds);
    std::erase_if(places, [&](const Place& place) { return found[place].worth < least(); });
    look_freely(wood, catalogue, space, neighbours(space, places, step), least() / most_gain,
                found);
  }
  std::vector<LogPlan> plans;
  for (auto& [place, plan] : found) {
    if (plan.worth >= least()) plans.push_back(plan);
  }
  keep_best(plans, static_cast<std::size_t>(space.keep));
  return plans;
}

}  // namespace kerfwright::saw
