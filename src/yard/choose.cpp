#include "choose.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <numeric>
#include <random>

#include "all_logs.hpp"
#include "fit_together.hpp"

namespace kerfwright::yard {
namespace {

constexpr double hair = 1e-6;  // of the currency
// Shares of the time that is left.
constexpr double time_to_fill = 0.6, time_to_ask = 0.35, time_to_refine = 0.15, time_to_sweep = 0.4,
                 time_to_fit = 0.8;
constexpr double until_none_is_better = -1.0;
constexpr double some = 0.5;         // pieces, by shares of plans
constexpr double fine_share = 1e-2;  // of the list's value: what asking all logs so must bring …
constexpr std::size_t fine_logs = 30;  // … of up to so many; of more each must bring no less
constexpr std::size_t looked_at = 4;   // logs that are asked with all care before all others
constexpr int few_nodes = 500;  // of the search for whole plans where logs are fitted after it
// Times its own value: what a piece counts at least when a log is asked for the rest of the list.
constexpr double missing_factor = 3.0, spare_factor = 0.3;

/// What a piece fetches that the list no longer wants.
double value_beyond(const Demand& demand, std::size_t kind) {
  const Kind& each = demand.kinds[kind];
  return demand.lines[each.line].beyond * each.value;
}

/// What an offer would add to the relaxed programme.
double reduced_worth(const Offer& offer, const Relaxed& relaxed) {
  double worth = offer.net() - relaxed.logs[offer.log];
  for (std::size_t k = 0; k < offer.counts.size(); ++k) {
    worth += offer.counts[k] * relaxed.prices[k];
  }
  return worth;
}

/// Asks logs and puts what they offer into the pool.
/// @returns what their new offers would add, all together
double ask_logs(Search& search, const std::vector<std::size_t>& logs, const Ask& ask,
                const Relaxed* relaxed, double from, double to) {
  std::vector<std::optional<Offer>> offers(logs.size());
  int done = 0;
  Ask each = ask;
  if (logs.size() == 1) each.threads = search.settings.threads;
  visit_all_logs(logs.size(), logs.size() == 1 ? 1 : search.settings.threads, [&](std::size_t i) {
    if (search.stopped()) return;
    offers[i] = search.asked(logs[i], each);
#pragma omp critical
    {
      const double share = static_cast<double>(++done) / static_cast<double>(logs.size());
      search.settings.watch.say("asking every log", from + share * (to - from));
    }
  });
  double gain = 0.0;
  for (const auto& offer : offers) {
    if (!offer) continue;
    if (relaxed != nullptr) gain += std::max(0.0, reduced_worth(*offer, *relaxed));
    add_offer(search.pool, *offer);
  }
  return gain;
}

double ask_round(Search& search, const Ask& ask, const Relaxed* relaxed, double from, double to) {
  std::vector<std::size_t> all(search.logs);
  std::iota(all.begin(), all.end(), std::size_t{0});
  return ask_logs(search, all, ask, relaxed, from, to);
}

std::vector<double> one_each(const Search& search) { return std::vector<double>(search.logs, 1.0); }

/// Prices drawn at random, about the last ones and about the list's own, so that few logs do not
/// all offer the same.
void spread(Search& search) {
  const int rounds = search.settings.spread / static_cast<int>(search.logs);
  std::mt19937 random(8);
  for (int round = 0; round < rounds && !search.stopped(); ++round) {
    std::vector<double> prices = search.prices;
    for (std::size_t k = 0; k < prices.size(); ++k) {
      const double share = static_cast<double>(random()) / 4294967295.0;
      const Kind& kind = search.demand.kinds[k];
      const double own = (1.0 - search.demand.lines[kind.line].beyond) * kind.value;
      prices[k] = round % 2 == 0 ? 2.0 * share * std::max(own, prices[k]) : 2.0 * share * own;
    }
    ask_round(search, question(search.demand, prices, Care::coarse), nullptr,
              static_cast<double>(round) / rounds, static_cast<double>(round + 1) / rounds);
  }
}

bool missing_costs(const Demand& demand) {
  return std::any_of(demand.lines.begin(), demand.lines.end(),
                     [](const Line& line) { return line.missing > 0.0; });
}

/// Questions to all logs until none has a better plan, fewer pieces than that are missing, or the
/// rounds are used up.
void ask_rounds(Search& search, Relaxed& relaxed, double missing) {
  const double enough = near_share * value_of_list(search.demand);
  std::vector<double> centre = relaxed.prices;
  const int rounds = search.settings.rounds;
  for (int round = 0; round < rounds && !search.stopped(); ++round) {
    const std::vector<double>& now = relaxed.prices;
    // Halfway to the last prices: those of few offers leap to and fro.
    for (std::size_t k = 0; k < now.size(); ++k) centre[k] = 0.5 * (centre[k] + now[k]);
    const double from = static_cast<double>(round) / rounds;
    const double to = static_cast<double>(round + 1) / rounds;
    double gain =
        ask_round(search, question(search.demand, centre, Care::coarse), &relaxed, from, to);
    if (gain <= enough && !search.stopped()) {
      gain = ask_round(search, question(search.demand, now, Care::coarse), &relaxed, from, to);
      centre = now;
      if (gain <= enough) break;
    }
    relaxed = solve_relaxed(search.demand, search.pool, one_each(search));
    if (relaxed.missing < missing) break;
  }
}

int surplus_in(const Demand& demand, const std::vector<int>& counts) {
  const auto lines = line_counts(demand, counts);
  int surplus = 0;
  for (std::size_t i = 0; i < lines.size(); ++i) {
    if (demand.lines[i].beyond <= 0.0) surplus += std::max(0, lines[i] - demand.lines[i].wanted);
  }
  return surplus;
}

/// What is wanted of each line and not there; negative where there is more.
std::vector<int> open_after(const Demand& demand, const Choice& choice) {
  std::vector<int> open = line_counts(demand, counts_of(choice, demand.kinds.size()));
  for (std::size_t i = 0; i < open.size(); ++i) open[i] = demand.lines[i].wanted - open[i];
  return open;
}

/// What a log is asked when all others are settled: no more of each line than they leave open, at
/// the prices of the relaxed programme, and what would still be missing dearer than all else.
Ask rest_question(const Search& search, const Choice& choice, const Choice& others, Care care) {
  const Demand& demand = search.demand;
  const auto missing = open_after(demand, choice);
  Ask ask = question(demand, search.prices, care);
  ask.threads = search.settings.threads;
  for (std::size_t k = 0; k < demand.kinds.size(); ++k) {
    const Kind& kind = demand.kinds[k];
    const double own = kind.value - value_beyond(demand, k);
    const double least = missing[kind.line] > 0 ? missing_factor * own : spare_factor * own;
    ask.prices[k] = std::max(search.prices[k], least) + value_beyond(demand, k);
  }
  ask.limits.clear();
  for (const int pieces : open_after(demand, others)) ask.limits.push_back(std::max(0, pieces));
  return ask;
}

bool wants_anything(const Demand& demand, const Ask& ask) {
  for (std::size_t i = 0; i < demand.lines.size(); ++i) {
    if (*ask.limits[i] > 0) return true;
  }
  return false;
}

/// Few logs can be asked more.
bool few(const Search& search) {
  return static_cast<int>(search.logs) <= search.settings.spread / 10;
}

/// The same question at what the pieces truly bring when all others are settled.
Ask at_true_worth(const Search& search, Ask ask) {
  for (std::size_t k = 0; k < ask.prices.size(); ++k) {
    const Kind& kind = search.demand.kinds[k];
    ask.prices[k] = kind.value + search.demand.lines[kind.line].missing;
  }
  return ask;
}

/// Takes what a log offers to a question if that makes the choice better.
bool take(Search& search, Choice& choice, const Choice& others, std::size_t log, const Ask& ask) {
  const auto offer = search.asked(log, ask);
  if (!offer) return false;
  add_offer(search.pool, *offer);
  Choice with = others;
  with[log] = offer;
  if (!better(search.demand, with, choice)) return false;
  choice = with;
  return true;
}

/// Asks one log what it could do for what the others leave open.
/// @returns whether that made the choice better
bool improve(Search& search, Choice& choice, std::size_t log, Care care) {
  Choice others = choice;
  others[log].reset();
  const Ask ask = rest_question(search, choice, others, care);
  bool improved = false;
  if (choice[log] && better(search.demand, others, choice)) {
    choice = others;
    improved = true;
  }
  // Of many logs, one that lies there uncut is asked only where something is still missing.
  if (!choice[log] && !few(search) && !wants_anything(search.demand, ask)) return improved;
  if (few(search))
    improved = take(search, choice, others, log, at_true_worth(search, ask)) || improved;
  return take(search, choice, others, log, ask) || improved;
}

/// Logs in the order in which they are asked: those that are sawn first, the least worth before
/// others, since they are most easily replaced; then those that lie uncut.
std::vector<std::size_t> asking_order(const Search& search, const Choice& choice) {
  std::vector<std::size_t> order(choice.size());
  std::iota(order.begin(), order.end(), std::size_t{0});
  std::vector<double> part(choice.size(), 0.0);
  for (std::size_t l = 0; l < choice.size(); ++l) {
    if (!choice[l]) {
      part[l] = std::numeric_limits<double>::max();
      continue;
    }
    Choice others = choice;
    others[l].reset();
    part[l] = worth_of(search.demand, choice) - worth_of(search.demand, others);
  }
  std::stable_sort(order.begin(), order.end(),
                   [&](std::size_t a, std::size_t b) { return part[a] < part[b]; });
  return order;
}

/// Chooses among all plans in the pool if that is better.
void choose_anew(Search& search, Choice& choice) {
  const int nodes = few(search) ? search.settings.nodes : few_nodes;
  const Choice again = solve_whole(search.demand, search.logs, search.pool, nodes);
  if (better(search.demand, again, choice)) choice = again;
}

/// Asks log after log.
/// @returns whether that made the choice better
bool sweep(Search& search, Choice& choice, Care care) {
  bool improved = false;
  std::size_t done = 0;
  for (const std::size_t log : asking_order(search, choice)) {
    if (search.stopped()) return improved;
    improved = improve(search, choice, log, care) || improved;
    search.settings.watch.say("fitting each log to what the others leave open",
                              static_cast<double>(++done) / static_cast<double>(search.logs));
  }
  if (!improved) return false;
  choose_anew(search, choice);  // what was found may fit together otherwise too
  return true;
}

Choice choose_of_few(Search& search) {
  Choice choice = solve_whole(search.demand, search.logs, search.pool, search.settings.nodes);
  {
    const TimeShare share(search, time_to_sweep);
    bool improved = true;
    for (int n = 0; n < search.settings.sweeps && improved && !search.stopped(); ++n) {
      improved = sweep(search, choice, Care::middle);
    }
  }
  if (!search.stopped()) sweep(search, choice, Care::fine);
  return choice;
}

/// Asks logs with all care at the last prices: one of middling worth, a few if that says that it
/// pays, all if those do. It takes most of the time of a search and hardly ever brings anything, so
/// that of many logs, which take as long each, each must bring as much of the list as of thirty.
/// @returns whether all were asked
bool look_finely(Search& search) {
  const Relaxed relaxed = solve_relaxed(search.demand, search.pool, one_each(search));
  const Ask ask = question(search.demand, relaxed.prices, Care::fine);
  std::vector<std::size_t> logs(search.logs);
  std::iota(logs.begin(), logs.end(), std::size_t{0});
  const auto from_middle = [&](std::size_t l) {
    const auto less = std::count_if(relaxed.logs.begin(), relaxed.logs.end(),
                                    [&](double worth) { return worth < relaxed.logs[l]; });
    return std::abs(2 * less - static_cast<std::ptrdiff_t>(search.logs));
  };
  std::stable_sort(logs.begin(), logs.end(),
                   [&](std::size_t a, std::size_t b) { return from_middle(a) < from_middle(b); });
  const double each_must_bring = fine_share * value_of_list(search.demand) /
                                 static_cast<double>(std::min(fine_logs, search.logs));
  double gain = 0.0;
  std::size_t done = 0;
  for (const std::size_t end : {std::size_t{1}, looked_at, logs.size()}) {
    const std::size_t to = std::min(end, logs.size());
    const auto at = [&](std::size_t i) { return logs.begin() + static_cast<std::ptrdiff_t>(i); };
    gain += ask_logs(search, {at(done), at(to)}, ask, &relaxed, 0.0, 1.0);
    done = to;
    if (gain < each_must_bring * static_cast<double>(done)) break;
  }
  return done == logs.size();
}

Choice choose_of_many(Search& search) {
  Choice choice = solve_whole(search.demand, search.logs, search.pool, few_nodes);
  {
    const TimeShare share(search, time_to_fit);
    if (!near_bound(search, choice, near_share)) {
      const Choice settled = settle_one_by_one(search);
      if (better(search.demand, settled, choice)) choice = settled;
    }
    refit_groups(search, choice);
    sweep(search, choice, Care::middle);
  }
  // Where plans hardly fit together, finer ones of each log do not help.
  if (search.stopped() || !near_bound(search, choice, fine_share)) return choice;
  const bool all = look_finely(search);
  choose_anew(search, choice);
  if (!all) return choice;
  refit_groups(search, choice);
  sweep(search, choice, Care::middle);
  return choice;
}

}  // namespace

Ask question(const Demand& demand, const std::vector<double>& prices, Care care) {
  Ask ask{prices, std::vector<std::optional<int>>(demand.lines.size()), care, 1};
  for (std::size_t k = 0; k < prices.size(); ++k) ask.prices[k] += value_beyond(demand, k);
  return ask;
}

bool better(const Demand& demand, const Choice& now, const Choice& before) {
  const double gain = worth_of(demand, now) - worth_of(demand, before);
  if (std::abs(gain) > hair) return gain > 0.0;
  const std::size_t kinds = demand.kinds.size();
  return surplus_in(demand, counts_of(now, kinds)) < surplus_in(demand, counts_of(before, kinds));
}

double value_of_list(const Demand& demand) {
  double value = 0.0;
  for (std::size_t i = 0; i < demand.lines.size(); ++i) {
    value += demand.lines[i].wanted * dearest_piece(demand, i);
  }
  return value;
}

std::optional<Offer> Search::asked(std::size_t log, const Ask& ask) const {
  std::optional<Offer> offer = oracle(log, ask);
  if (offer && !wood.empty()) offer->wood = wood[log];
  return offer;
}

void Search::price_wood(std::vector<double> costs) {
  wood = std::move(costs);
  for (Offer& offer : pool) offer.wood = wood[offer.log];
}

bool add_offer(std::vector<Offer>& pool, const Offer& offer) {
  for (const Offer& other : pool) {
    if (other.log == offer.log && other.counts == offer.counts &&
        other.net() >= offer.net() - hair) {
      return false;
    }
  }
  pool.push_back(offer);
  return true;
}

void seed(Search& search) {
  std::vector<double> prices;
  for (const Kind& kind : search.demand.kinds) {
    const Line& line = search.demand.lines[kind.line];
    prices.push_back(line.wanted > 0 ? (1.0 - line.beyond) * kind.value : 0.0);
  }
  ask_round(search, question(search.demand, prices, Care::coarse), nullptr, 0.0, 1.0);
  search.prices = prices;
}

Relaxed generate(Search& search) {
  Relaxed relaxed = solve_relaxed(search.demand, search.pool, one_each(search));
  if (relaxed.missing >= some && missing_costs(search.demand)) {
    const TimeShare share(search, time_to_fill);
    ask_rounds(search, relaxed, some);
  }
  // What was missing was far dearer than all else: those prices say nothing now, so that the rounds
  // begin anew at the last ones.
  const TimeShare share(search, time_to_ask);
  if (relaxed.missing < some || !missing_costs(search.demand))
    ask_rounds(search, relaxed, until_none_is_better);
  search.prices = relaxed.prices;
  if (!search.stopped()) spread(search);
  return solve_relaxed(search.demand, search.pool, one_each(search));
}

void refine(Search& search) {
  const TimeShare share(search, time_to_refine);
  if (search.stopped()) return;
  ask_round(search, question(search.demand, search.prices, Care::middle), nullptr, 0.0, 1.0);
}

void ask_for_missing(Search& search, const Demand& missing) {
  std::vector<double> prices;
  for (const Kind& kind : missing.kinds) {
    prices.push_back(missing.lines[kind.line].wanted > 0 ? kind.value : 0.0);
  }
  ask_round(search, question(missing, prices, Care::coarse), nullptr, 0.0, 1.0);
}

Choice choose(Search& search) {
  return few(search) ? choose_of_few(search) : choose_of_many(search);
}

void use_time_left(Search& search, Choice& choice) {
  if (few(search) || search.stopped()) return;  // few were asked with all care
  const Relaxed relaxed = solve_relaxed(search.demand, search.pool, one_each(search));
  ask_round(search, question(search.demand, relaxed.prices, Care::fine), nullptr, 0.0, 1.0);
  choose_anew(search, choice);
  if (search.stopped()) return;
  refit_groups(search, choice);
  while (!search.stopped() && sweep(search, choice, Care::fine)) {
  }
}

}  // namespace kerfwright::yard
