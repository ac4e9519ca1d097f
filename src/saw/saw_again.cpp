#include "saw_again.hpp"

#include <algorithm>
#include <memory>
#include <numeric>

#include "resaw.hpp"

namespace kerfwright::saw {
namespace {

constexpr int first_look = 30;        // draws
constexpr std::size_t finalists = 5;  // plans

/// Sorts `which` from the best mean to the worst and gives the means, likewise sorted.
std::vector<double> sort_by_mean(const Trier& trier, const std::vector<const SawPlan*>& plans,
                                 const Draws& draws, std::vector<std::size_t>& which) {
  std::vector<const SawPlan*> sawn;
  for (const std::size_t k : which) sawn.push_back(plans[k]);
  const std::vector<Trials> trials = saw_again(trier, sawn, draws);
  std::vector<std::pair<double, std::size_t>> sorted;
  for (std::size_t k = 0; k < which.size(); ++k) sorted.emplace_back(mean(trials[k].net), which[k]);
  std::stable_sort(sorted.begin(), sorted.end(), [&](const auto& a, const auto& b) {
    if (a.first != b.first) return a.first > b.first;
    return plans[a.second]->totals.net > plans[b.second]->totals.net;
  });
  std::vector<double> means;
  for (std::size_t k = 0; k < which.size(); ++k) {
    which[k] = sorted[k].second;
    means.push_back(sorted[k].first);
  }
  return means;
}

}  // namespace

std::vector<Trials> saw_again(const Trier& trier, const std::vector<const SawPlan*>& plans,
                              const Draws& draws) {
  std::vector<std::unique_ptr<Resaw>> resaws;
  for (const SawPlan* plan : plans) {
    resaws.push_back(std::make_unique<Resaw>(*plan, trier.shape, trier.wood));
  }
  const auto count = static_cast<std::size_t>(draws.count);
  std::vector<std::vector<Sawn>> sawn(plans.size(), std::vector<Sawn>(count));
#pragma omp parallel
  {
    Catalogues mine = trier.catalogues;
#pragma omp for schedule(dynamic, 1)
    for (std::size_t d = 0; d < count; ++d) {
      const Luck luck(draws.stream, draws.first + static_cast<int>(d));
      const DrawnWood drawn = drawn_wood(trier.shape, luck, trier.errors);
      for (std::size_t k = 0; k < plans.size(); ++k) {
        sawn[k][d] = resaws[k]->saw(drawn, resaws[k]->cuts().draw(luck, trier.errors), mine);
      }
    }
  }
  std::vector<Trials> trials(plans.size());
  for (std::size_t k = 0; k < plans.size(); ++k) {
    const double cost = plans[k]->totals.value - plans[k]->totals.net;
    trials[k].chance.assign(plans[k]->boards.size(), 0.0);
    for (const Sawn& one : sawn[k]) {
      trials[k].net.push_back(one.value - cost);
      for (std::size_t b = 0; b < one.there.size(); ++b) trials[k].chance[b] += one.there[b];
    }
    for (double& chance : trials[k].chance) chance /= static_cast<double>(count);
  }
  return trials;
}

std::vector<std::size_t> best_at_first_look(const Trier& trier,
                                            const std::vector<const SawPlan*>& plans,
                                            const Draws& draws) {
  std::vector<std::size_t> which(plans.size());
  std::iota(which.begin(), which.end(), std::size_t{0});
  const Draws few{draws.stream, draws.first, std::min(first_look, draws.count)};
  sort_by_mean(trier, plans, few, which);
  return which;
}

std::vector<std::size_t> best_in_the_mean(const Trier& trier,
                                          const std::vector<const SawPlan*>& plans,
                                          const Draws& draws) {
  if (plans.empty()) return {};
  std::vector<std::size_t> which = best_at_first_look(trier, plans, draws);
  const auto dearest =
      static_cast<std::size_t>(std::max_element(plans.begin(), plans.end(),
                                                [](const SawPlan* a, const SawPlan* b) {
                                                  return a->totals.net < b->totals.net;
                                                }) -
                               plans.begin());
  if (which.size() > finalists) which.resize(finalists);
  if (std::find(which.begin(), which.end(), dearest) == which.end()) which.push_back(dearest);
  const std::vector<double> means = sort_by_mean(trier, plans, draws, which);
  const auto as_good = [&](std::size_t k) {
    return !better_in_the_mean({means.front(), 0.0}, {means[k], 0.0});
  };
  std::size_t end = 1;
  while (end < which.size() && as_good(end)) ++end;
  std::stable_sort(which.begin(), which.begin() + static_cast<std::ptrdiff_t>(end),
                   [&](std::size_t a, std::size_t b) {
                     return plans[a]->totals.net > plans[b]->totals.net + 1e-9;
                   });
  return which;
}

}  // namespace kerfwright::saw
