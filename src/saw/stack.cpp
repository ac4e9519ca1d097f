#include "stack.hpp"

#include <algorithm>
#include <limits>

namespace kerfwright::saw {
namespace {

enum : int { choice_end = -1, choice_skip = -2 };

/// Heights at which an item may be worth something.
struct Range {
  int first = 0, last = -1;
};

std::vector<Range> ranges_of(const StackTable& table) {
  std::vector<Range> ranges;
  for (const auto& worth : table.worth) {
    const auto is_some = [](float w) { return w > 0.0F; };
    const auto first = std::find_if(worth.begin(), worth.end(), is_some);
    const auto last = std::find_if(worth.rbegin(), worth.rend(), is_some);
    ranges.push_back(
        {static_cast<int>(first - worth.begin()), static_cast<int>(worth.rend() - last) - 1});
  }
  return ranges;
}

struct Solver {
  const StackTable& table;
  int kerf_strips;
  std::vector<Range> ranges;    ///< worths only ever fall, so they hold for every round
  std::vector<double> above{};  ///< U(b)
  std::vector<int> choice{};
  std::vector<int> next_cut{};  ///< best level of a further cut at or above a level, -1 = none

  double after_cut(int level) const {
    const auto i = static_cast<std::size_t>(level);
    return above[i] - static_cast<double>(table.cut_cost[i]);
  }

  void solve() {
    const auto size = table.cut_cost.size();
    above.assign(size, 0.0);
    choice.assign(size, choice_end);
    next_cut.assign(size + 1, -1);
    int lowest = table.levels;
    int highest = -1;
    for (const Range& range : ranges) {
      if (range.last < range.first) continue;
      lowest = std::min(lowest, range.first);
      highest = std::max(highest, range.last);
    }
    for (int b = highest; b >= 0; --b) {
      if (b >= lowest) choose(b);
      const auto i = static_cast<std::size_t>(b);
      const int later = next_cut[i + 1];
      const bool here = above[i] > 0.0 && (later < 0 || after_cut(b) >= after_cut(later));
      next_cut[i] = here ? b : later;
    }
  }

  void choose(int b) {
    const auto i = static_cast<std::size_t>(b);
    for (std::size_t k = 0; k < table.items.size(); ++k) {
      if (b < ranges[k].first || b > ranges[k].last) continue;
      const double worth = static_cast<double>(table.worth[k][i]);
      if (worth <= 0.0) continue;
      const double total = worth + after_cut(b + table.items[k].pitch);
      if (total > above[i]) {
        above[i] = total;
        choice[i] = static_cast<int>(k);
      }
    }
    const std::size_t beyond =
        std::min(i + static_cast<std::size_t>(kerf_strips), next_cut.size() - 1);
    if (next_cut[beyond] >= 0 && after_cut(next_cut[beyond]) > above[i]) {
      above[i] = after_cut(next_cut[beyond]);
      choice[i] = choice_skip;
    }
  }

  Stack trace() const {
    Stack stack;
    int b = next_cut[0];
    if (b < 0 || after_cut(b) <= 0.0) return stack;
    stack.worth = after_cut(b);
    while (b < table.levels) {
      const int chosen = choice[static_cast<std::size_t>(b)];
      if (chosen == choice_end) break;
      if (chosen == choice_skip) {
        b = next_cut[static_cast<std::size_t>(b + kerf_strips)];
      } else {
        stack.items.push_back({chosen, b});
        b += table.items[static_cast<std::size_t>(chosen)].pitch;
      }
    }
    return stack;
  }
};

}  // namespace

Stack best_stack(const StackTable& table, int kerf_strips) {
  Solver solver{table, kerf_strips, ranges_of(table)};
  solver.solve();
  return solver.trace();
}

Stack best_stack_lazily(StackTable& table, int kerf_strips, double cutoff, Known enough,
                        const Refine& refine) {
  Solver solver{table, kerf_strips, ranges_of(table)};
  while (true) {
    solver.solve();
    Stack stack = solver.trace();
    if (stack.worth <= cutoff) return {};
    bool all_known = true;
    for (const Placed& placed : stack.items) {
      const auto k = static_cast<std::size_t>(placed.item);
      const auto b = static_cast<std::size_t>(placed.bottom);
      if (table.known[k][b] >= enough) continue;
      // Worth less than this, no stack through the item here can beat the cutoff.
      const double needed = static_cast<double>(table.worth[k][b]) - (stack.worth - cutoff);
      refine(placed.item, placed.bottom, needed);
      all_known = false;
    }
    if (all_known) return stack;
  }
}

}  // namespace kerfwright::saw
