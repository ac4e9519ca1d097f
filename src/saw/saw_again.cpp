#include "saw_again.hpp"

#include <algorithm>
#include <memory>
#include <numeric>

#include "resaw.hpp"

namespace kerfwright::saw {
namespace {

constexpr int first_look = 30;        // draws
constexpr std::size_t finalists = 5;  // plans

/// Sorts `which` from the best mean to the worst and gives their nets draw by draw, likewise
/// sorted.
std::vector<std::vector<double>> sort_by_mean(const Trier& trier,
                                              const std::vector<const SawPlan*>& plans,
                                              const Draws& draws, std::vector<std::size_t>& which) {
  std::vector<const SawPlan*> sawn;
  for (const std::size_t k : which) sawn.push_back(plans[k]);
  std::vector<Trials> trials = saw_again(trier, sawn, draws);
  struct Sorted {
    std::size_t plan;
    double mean;
    std::vector<double> net;
  };
  std::vector<Sorted> sorted;
  for (std::size_t k = 0; k < which.size(); ++k) {
    const double expected = mean(trials[k].net);
    sorted.push_back({which[k], expected, std::move(trials[k].net)});
  }
  std::stable_sort(sorted.begin(), sorted.end(), [&](const Sorted& a, const Sorted& b) {
    if (a.mean != b.mean) return a.mean > b.mean;
    return plans[a.plan]->totals.net > plans[b.plan]->totals.net;
  });
  std::vector<std::vector<double>> nets;
  for (std::size_t k = 0; k < which.size(); ++k) {
    which[k] = sorted[k].plan;
    nets.push_back(std::move(sorted[k].net));
  }
  return nets;
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
  const auto nets = sort_by_mean(trier, plans, draws, which);
  const auto as_good = [&](std::size_t k) {
    return !better_in_the_mean({nets.front(), 0.0}, {nets[k], 0.0});
  };
  // One of them may be as good as the best by luck while another of a greater mean is not.
  std::vector<std::size_t> good, others;
  for (std::size_t k = 0; k < which.size(); ++k) (as_good(k) ? good : others).push_back(which[k]);
  std::stable_sort(good.begin(), good.end(), [&](std::size_t a, std::size_t b) {
    return plans[a]->totals.net > plans[b]->totals.net + 1e-9;
  });
  good.insert(good.end(), others.begin(), others.end());
  return good;
}

}  // namespace kerfwright::saw
