#include "more_logs.hpp"

#include <algorithm>
#include <cmath>

namespace kerfwright::yard {
namespace {

constexpr std::size_t most_kinds_of_log = 3;
constexpr double far_too_many = 1e6;

/// Only what is missing, and only as numbers: each piece counts, none is worth more.
Demand missing_of(const Demand& demand, const std::vector<int>& counts) {
  Demand missing = demand;
  const auto lines = line_counts(demand, counts);
  for (std::size_t i = 0; i < lines.size(); ++i) {
    missing.lines[i].wanted = std::max(0, demand.lines[i].wanted - lines[i]);
    missing.lines[i].beyond = 0.0;
  }
  return missing;
}

Demand only_line(Demand demand, std::size_t line) {
  for (std::size_t i = 0; i < demand.lines.size(); ++i) {
    if (i != line) demand.lines[i].wanted = 0;
  }
  return demand;
}

std::vector<Offer> offers_of_log(const std::vector<Offer>& pool, std::size_t log) {
  std::vector<Offer> offers;
  for (const Offer& offer : pool) {
    if (offer.log == log) offers.push_back(offer);
  }
  return offers;
}

std::vector<MoreLogs> like_each(const Search& search, const Demand& missing,
                                const std::vector<double>& wood_m3) {
  std::vector<MoreLogs> ways;
  for (std::size_t l = 0; l < search.logs; ++l) {
    const auto logs = logs_for(missing, offers_of_log(search.pool, l));
    if (logs) ways.push_back({l, static_cast<int>(std::ceil(*logs - 1e-6)), std::nullopt});
  }
  std::stable_sort(ways.begin(), ways.end(), [&](const MoreLogs& a, const MoreLogs& b) {
    return a.count * wood_m3[a.log] < b.count * wood_m3[b.log];
  });
  if (ways.size() > most_kinds_of_log) ways.resize(most_kinds_of_log);
  return ways;
}

}  // namespace

std::optional<double> logs_for(const Demand& demand, const std::vector<Offer>& offers) {
  Demand counted = demand;
  int pieces = 0;
  for (Line& line : counted.lines) {
    line.missing = far_too_many;
    line.beyond = 0.0;
    pieces += line.wanted;
  }
  for (Kind& kind : counted.kinds) kind.value = 0.0;
  std::vector<Offer> of_one = offers;
  for (Offer& offer : of_one) {
    offer.log = 0;
    offer.worth = 0.0;
    offer.wood = 1.0;
  }
  const Relaxed relaxed = solve_relaxed(counted, of_one, {far_too_many});
  if (relaxed.missing > 1e-6 * std::max(1, pieces)) return std::nullopt;
  return -relaxed.worth;
}

std::vector<MoreLogs> more_logs(Search& search, const std::vector<int>& counts,
                                const std::vector<double>& wood_m3) {
  const Demand missing = missing_of(search.demand, counts);
  ask_for_missing(search, missing);
  std::vector<MoreLogs> ways = like_each(search, missing, wood_m3);
  if (!ways.empty()) return ways;
  for (std::size_t i = 0; i < missing.lines.size(); ++i) {
    if (missing.lines[i].wanted == 0) continue;
    auto of_line = like_each(search, only_line(missing, i), wood_m3);
    if (of_line.empty()) continue;
    of_line.front().line = i;
    ways.push_back(of_line.front());
  }
  return ways;
}

}  // namespace kerfwright::yard
