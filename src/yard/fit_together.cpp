#include "fit_together.hpp"

#include <algorithm>
#include <numeric>
#include <random>
#include <set>

#include "all_logs.hpp"

namespace kerfwright::yard {
namespace {

constexpr std::size_t group_size = 8;
constexpr int group_rounds = 2;     // of questions to a group
constexpr int group_nodes = 300;    // of the search for a group's whole plans
constexpr int in_vain = 15;         // groups in a row that bring nothing
constexpr std::size_t tries = 3;    // groups, times half the number of logs, at most
constexpr std::size_t at_once = 6;  // of that many logs one is settled before the others are asked
constexpr double least_share = 0.05;

/// The logs that are free in the programme.
using Copies = std::vector<double>;

/// The list less what the chosen logs give.
Demand rest_of(const Demand& demand, const Choice& chosen) {
  Demand rest = demand;
  const auto there = line_counts(demand, counts_of(chosen, demand.kinds.size()));
  for (std::size_t i = 0; i < there.size(); ++i) {
    rest.lines[i].wanted = std::max(0, demand.lines[i].wanted - there[i]);
  }
  return rest;
}

std::vector<Offer> offers_of(const std::vector<Offer>& pool, const Copies& copies) {
  std::vector<Offer> offers;
  for (const Offer& offer : pool) {
    if (copies[offer.log] > 0.0) offers.push_back(offer);
  }
  return offers;
}

/// Asks some logs for the rest of a list at the prices of its programme.
/// @returns whether any offered what was not in the pool: else the same would be asked again
bool ask_for_rest(Search& search, const Demand& rest, const std::vector<std::size_t>& logs,
                  const Copies& copies) {
  const Relaxed relaxed = solve_relaxed(rest, offers_of(search.pool, copies), copies);
  Ask ask = question(rest, relaxed.prices, Care::coarse);
  for (std::size_t i = 0; i < rest.lines.size(); ++i) ask.limits[i] = rest.lines[i].wanted;
  std::vector<std::optional<Offer>> offers(logs.size());
  visit_all_logs(logs.size(), search.settings.threads, [&](std::size_t i) {
    if (!search.stopped()) offers[i] = search.asked(logs[i], ask);
  });
  bool any_new = false;
  for (const auto& offer : offers) {
    if (offer) any_new = add_offer(search.pool, *offer) || any_new;
  }
  return any_new;
}

/// Takes the plans with the largest shares, one a log.
/// @returns how many logs are settled by that
std::size_t settle(const Relaxed& relaxed, const std::vector<Offer>& offers, std::size_t most,
                   Choice& choice) {
  std::vector<std::size_t> order(offers.size());
  std::iota(order.begin(), order.end(), std::size_t{0});
  std::stable_sort(order.begin(), order.end(), [&](std::size_t a, std::size_t b) {
    return relaxed.shares[a] > relaxed.shares[b];
  });
  std::size_t settled = 0;
  for (const std::size_t o : order) {
    if (settled == most || relaxed.shares[o] < least_share) break;
    auto& of_log = choice[offers[o].log];
    if (of_log) continue;
    of_log = offers[o];
    ++settled;
  }
  return settled;
}

struct Refit {
  bool better = false;  ///< the choice
  bool known = false;   ///< at last the group offered nothing new
};

Refit refit(Search& search, Choice& choice, const std::vector<std::size_t>& group) {
  Choice others = choice;
  Copies copies(search.logs, 0.0);
  for (const std::size_t log : group) {
    others[log].reset();
    copies[log] = 1.0;
  }
  const Demand rest = rest_of(search.demand, others);
  Refit done;
  for (int round = 0; round < group_rounds && !done.known && !search.stopped(); ++round) {
    done.known = !ask_for_rest(search, rest, group, copies);
  }
  const Choice found = solve_whole(rest, search.logs, offers_of(search.pool, copies), group_nodes);
  for (const std::size_t log : group) others[log] = found[log];
  done.better = better(search.demand, others, choice);
  if (done.better) choice = others;
  return done;
}

}  // namespace

bool near_bound(const Search& search, const Choice& choice, double share) {
  const Relaxed relaxed = solve_relaxed(search.demand, search.pool, Copies(search.logs, 1.0));
  return relaxed.worth - worth_of(search.demand, choice) <= share * value_of_list(search.demand);
}

Choice settle_one_by_one(Search& search) {
  Choice choice(search.logs);
  Copies copies(search.logs, 1.0);
  std::size_t done = 0;
  while (done < search.logs) {
    const Demand rest = rest_of(search.demand, choice);
    std::vector<std::size_t> open;
    for (std::size_t l = 0; l < search.logs; ++l) {
      copies[l] = choice[l] ? 0.0 : 1.0;
      if (!choice[l]) open.push_back(l);
    }
    if (done > 0) ask_for_rest(search, rest, open, copies);
    const auto offers = offers_of(search.pool, copies);
    const Relaxed relaxed = solve_relaxed(rest, offers, copies);
    const std::size_t settled =
        settle(relaxed, offers, std::max<std::size_t>(1, open.size() / at_once), choice);
    if (settled == 0) break;
    done += settled;
    search.settings.watch.say("fitting logs together",
                              static_cast<double>(done) / static_cast<double>(search.logs));
  }
  return choice;
}

bool refit_groups(Search& search, Choice& choice) {
  std::mt19937 random(8);
  std::vector<std::size_t> logs(search.logs);
  std::iota(logs.begin(), logs.end(), std::size_t{0});
  const std::size_t size = std::min(group_size, logs.size());
  bool improved = false;
  int failed = 0;
  const std::size_t most = tries * search.logs / 2;
  std::set<std::vector<std::size_t>> tried;  // groups that would be asked the same, in vain
  for (std::size_t n = 0; n < most && !search.stopped(); ++n) {
    if (near_bound(search, choice, near_share)) break;
    for (std::size_t i = 0; i < size; ++i) {
      std::swap(logs[i], logs[i + random() % (logs.size() - i)]);
    }
    const std::vector<std::size_t> group(logs.begin(),
                                         logs.begin() + static_cast<std::ptrdiff_t>(size));
    std::vector<std::size_t> sorted = group;
    std::sort(sorted.begin(), sorted.end());
    Refit done;
    if (!tried.contains(sorted)) {
      const std::size_t offers = search.pool.size();
      done = refit(search, choice, group);
      if (done.better || search.pool.size() > offers) tried.clear();
      if (done.known && !done.better) tried.insert(sorted);
    }
    improved = improved || done.better;
    failed = done.better ? 0 : failed + 1;
    const bool missing =
        missing_in(search.demand, counts_of(choice, search.demand.kinds.size())) > 0;
    if (failed >= (missing ? 2 * in_vain : in_vain)) break;
    search.settings.watch.say("fitting logs together",
                              static_cast<double>(n) / static_cast<double>(most));
  }
  return improved;
}

}  // namespace kerfwright::yard
