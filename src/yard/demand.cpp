#include "demand.hpp"

#include <algorithm>

namespace kerfwright::yard {

std::vector<int> counts_of(const Choice& choice, std::size_t kinds) {
  std::vector<int> counts(kinds, 0);
  for (const auto& offer : choice) {
    if (!offer) continue;
    for (std::size_t k = 0; k < kinds; ++k) counts[k] += offer->counts[k];
  }
  return counts;
}

std::vector<int> line_counts(const Demand& demand, const std::vector<int>& counts) {
  std::vector<int> lines(demand.lines.size(), 0);
  for (std::size_t k = 0; k < counts.size(); ++k) lines[demand.kinds[k].line] += counts[k];
  return lines;
}

int missing_in(const Demand& demand, const std::vector<int>& counts) {
  const auto lines = line_counts(demand, counts);
  int missing = 0;
  for (std::size_t i = 0; i < lines.size(); ++i) {
    missing += std::max(0, demand.lines[i].wanted - lines[i]);
  }
  return missing;
}

double dearest_piece(const Demand& demand, std::size_t line) {
  double most = 0.0;
  for (const Kind& kind : demand.kinds) {
    if (kind.line == line) most = std::max(most, kind.value);
  }
  return most;
}

double worth_of_counts(const Demand& demand, const std::vector<int>& counts) {
  std::vector<std::size_t> dearest(demand.kinds.size());
  for (std::size_t k = 0; k < dearest.size(); ++k) dearest[k] = k;
  std::stable_sort(dearest.begin(), dearest.end(), [&](std::size_t a, std::size_t b) {
    return demand.kinds[a].value > demand.kinds[b].value;
  });
  std::vector<int> open;
  for (const Line& line : demand.lines) open.push_back(line.wanted);
  double worth = 0.0;
  for (const std::size_t k : dearest) {
    const Kind& kind = demand.kinds[k];
    const int taken = std::min(counts[k], open[kind.line]);
    open[kind.line] -= taken;
    worth += taken * (1.0 - demand.lines[kind.line].beyond) * kind.value;
  }
  for (std::size_t i = 0; i < open.size(); ++i) worth -= open[i] * demand.lines[i].missing;
  return worth;
}

double worth_of(const Demand& demand, const Choice& choice) {
  double worth = worth_of_counts(demand, counts_of(choice, demand.kinds.size()));
  for (const auto& offer : choice) {
    if (offer) worth += offer->net();
  }
  return worth;
}

}  // namespace kerfwright::yard
