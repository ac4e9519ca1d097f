#include "choose.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <random>

// Small yards in which every plan of every log is written down: the choice against trying every
// combination. The oracle picks from the same list by prices and limits, as the planner would.

namespace kerfwright::yard {
namespace {

struct Case {
  Demand demand;
  std::vector<std::vector<Offer>> plans;  // of each log
};

int below(std::mt19937& random, int n) {
  return static_cast<int>(random() % static_cast<unsigned>(n));
}

/// Two or three products in one or two lengths, three or four logs with up to seven plans.
Case random_case(std::mt19937& random, double missing) {
  Case made;
  const int lines = 2 + below(random, 2);
  for (int i = 0; i < lines; ++i) {
    const int lengths = 1 + below(random, 2);
    for (int k = 0; k < lengths; ++k) {
      made.demand.kinds.push_back({static_cast<std::size_t>(i), static_cast<std::size_t>(k),
                                   3.0 + below(random, 10) + 2.0 * k});
    }
    made.demand.lines.push_back({static_cast<std::size_t>(i), 2 + below(random, 7),
                                 below(random, 3) == 0 ? 0.5 : 0.0, missing});
  }
  const int logs = 3 + below(random, 2);
  for (int l = 0; l < logs; ++l) {
    made.plans.emplace_back();
    const int plans = 3 + below(random, 5);
    for (int p = 0; p < plans; ++p) {
      Offer offer;
      offer.log = static_cast<std::size_t>(l);
      for (const Kind& kind : made.demand.kinds) {
        offer.counts.push_back(below(random, 4));
        // As if all pieces were beyond the list: the planner's own convention.
        offer.worth += offer.counts.back() * made.demand.lines[kind.line].beyond * kind.value;
      }
      offer.worth += 0.01 * below(random, 800) - 4.0;
      offer.wood = below(random, 6);
      made.plans.back().push_back(offer);
    }
  }
  return made;
}

/// What an offer fetches at the prices that are asked; pieces over a limit fetch what is beyond.
double asked_worth(const Case& yard, const Offer& offer, const Ask& ask) {
  double worth = offer.worth;
  std::vector<std::optional<int>> left = ask.limits;
  std::vector<std::size_t> kinds(offer.counts.size());
  for (std::size_t k = 0; k < kinds.size(); ++k) kinds[k] = k;
  std::stable_sort(kinds.begin(), kinds.end(),
                   [&](std::size_t a, std::size_t b) { return ask.prices[a] > ask.prices[b]; });
  for (const std::size_t k : kinds) {
    const Kind& kind = yard.demand.kinds[k];
    auto& limit = left[kind.line];
    const int taken = limit ? std::min(*limit, offer.counts[k]) : offer.counts[k];
    if (limit) *limit -= taken;
    worth += taken * (ask.prices[k] - yard.demand.lines[kind.line].beyond * kind.value);
  }
  return worth;
}

Search search_of(const Case& yard) {
  Search search;
  search.demand = yard.demand;
  search.logs = yard.plans.size();
  search.settings.threads = 1;
  search.oracle = [&yard](std::size_t log, const Ask& ask) -> std::optional<Offer> {
    const Offer* best = nullptr;
    for (const Offer& offer : yard.plans[log]) {
      if (best == nullptr || asked_worth(yard, offer, ask) > asked_worth(yard, *best, ask) + 1e-9) {
        best = &offer;
      }
    }
    if (best == nullptr || asked_worth(yard, *best, ask) <= 0.0) return std::nullopt;
    return *best;
  };
  std::vector<double> wood;
  for (const auto& plans : yard.plans) wood.push_back(plans.front().wood);
  search.wood = wood;
  return search;
}

void one_wood_for_each_log(Case& yard) {
  for (auto& plans : yard.plans) {
    for (Offer& offer : plans) offer.wood = plans.front().wood;
  }
}

double best_of_all(const Case& yard, Choice& choice, std::size_t log) {
  if (log == yard.plans.size()) return worth_of(yard.demand, choice);
  choice[log].reset();
  double best = best_of_all(yard, choice, log + 1);
  for (const Offer& offer : yard.plans[log]) {
    choice[log] = offer;
    best = std::max(best, best_of_all(yard, choice, log + 1));
  }
  choice[log].reset();
  return best;
}

double best_of_all(const Case& yard) {
  Choice choice(yard.plans.size());
  return best_of_all(yard, choice, 0);
}

TEST(Choice, ByTheProgrammeIsThatOfTryingEveryCombination) {
  std::mt19937 random(11);
  int sawn = 0, uncut = 0;
  for (int trial = 0; trial < 300; ++trial) {
    Case yard = random_case(random, trial % 2 == 0 ? 40.0 : 0.0);
    one_wood_for_each_log(yard);
    std::vector<Offer> all;
    for (const auto& plans : yard.plans) all.insert(all.end(), plans.begin(), plans.end());
    const Choice choice = solve_whole(yard.demand, yard.plans.size(), all, 4000);
    EXPECT_NEAR(worth_of(yard.demand, choice), best_of_all(yard), 1e-6) << "trial " << trial;
    for (const auto& offer : choice) ++(offer ? sawn : uncut);
    // Shares of plans can only bring more: the bound.
    const Relaxed relaxed =
        solve_relaxed(yard.demand, all, std::vector<double>(yard.plans.size(), 1.0));
    EXPECT_GE(relaxed.worth, best_of_all(yard) - 1e-6) << "trial " << trial;
  }
  EXPECT_GT(sawn, 100);
  EXPECT_GT(uncut, 40) << "no case leaves a log uncut";
}

// Logs are only asked at prices, so that a plan which is best at no prices may stay unseen.
TEST(Choice, ByAskingLogsForPlansIsNearlyAlwaysThatOfTryingEveryCombination) {
  std::mt19937 random(12);
  int as_good = 0;
  for (int trial = 0; trial < 200; ++trial) {
    Case yard = random_case(random, trial % 2 == 0 ? 40.0 : 0.0);
    one_wood_for_each_log(yard);
    Search search = search_of(yard);
    seed(search);
    generate(search);
    refine(search);
    const Choice choice = choose(search);
    const double worth = worth_of(yard.demand, choice);
    const double most = best_of_all(yard);
    EXPECT_LE(worth, most + 1e-6) << "trial " << trial;
    if (worth > most - 1e-6) ++as_good;
    const Relaxed bound =
        solve_relaxed(yard.demand, search.pool, std::vector<double>(search.logs, 1.0));
    EXPECT_GE(bound.worth, worth - 1e-6) << "trial " << trial;
  }
  EXPECT_GE(as_good, 190);
}

}  // namespace
}  // namespace kerfwright::yard
