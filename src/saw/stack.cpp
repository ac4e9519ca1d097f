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

/// What is best above each level, once a cut has been made there.
struct Above {
  std::vector<double> worth{};  ///< U(b)
  std::vector<int> choice{};
  std::vector<int> next_cut{};  ///< best level of a further cut at or above a level, -1 = none

  explicit Above(std::size_t size)
      : worth(size, 0.0), choice(size, choice_end), next_cut(size + 1, -1) {}
};

struct Solver {
  const StackTable& table;
  int kerf_strips;
  int needed;                 ///< a stack must have one of the items from this on; -1 = any stack
  std::vector<Range> ranges;  ///< worths only ever fall, so they hold for every round
  Above any{0};               ///< whatever may lie above
  Above with{0};              ///< one of the needed items does

  double after_cut(const Above& above, int level) const {
    const auto i = static_cast<std::size_t>(level);
    return above.worth[i] - static_cast<double>(table.cut_cost[i]);
  }

  void solve() {
    any = Above(table.cut_cost.size());
    if (needed >= 0) with = Above(table.cut_cost.size());
    int lowest = table.levels;
    int highest = -1;
    for (const Range& range : ranges) {
      if (range.last < range.first) continue;
      lowest = std::min(lowest, range.first);
      highest = std::max(highest, range.last);
    }
    for (int b = highest; b >= 0; --b) {
      if (b >= lowest) choose(any, b);
      find_next_cut(any, b);
      if (needed < 0) continue;
      if (b >= lowest) choose(with, b);
      find_next_cut(with, b);
    }
  }

  void find_next_cut(Above& above, int b) const {
    const auto i = static_cast<std::size_t>(b);
    const int later = above.next_cut[i + 1];
    const bool here =
        above.worth[i] > 0.0 && (later < 0 || after_cut(above, b) >= after_cut(above, later));
    above.next_cut[i] = here ? b : later;
  }

  /// What may lie above an item: where one of the needed items is still missing, that.
  const Above& over(const Above& above, int item) const {
    return &above == &with && item < needed ? with : any;
  }

  void choose(Above& above, int b) const {
    const auto i = static_cast<std::size_t>(b);
    for (std::size_t k = 0; k < table.items.size(); ++k) {
      if (b < ranges[k].first || b > ranges[k].last) continue;
      const double worth = static_cast<double>(table.worth[k][i]);
      if (worth <= 0.0) continue;
      const int item = static_cast<int>(k);
      const Above& rest = over(above, item);
      const int level = b + table.items[k].pitch;
      // Nothing above it would leave the needed item out.
      if (&rest == &with && rest.worth[static_cast<std::size_t>(level)] <= 0.0) continue;
      const double total = worth + after_cut(rest, level);
      if (total > above.worth[i]) {
        above.worth[i] = total;
        above.choice[i] = item;
      }
    }
    const std::size_t beyond =
        std::min(i + static_cast<std::size_t>(kerf_strips), above.next_cut.size() - 1);
    if (above.next_cut[beyond] >= 0 && after_cut(above, above.next_cut[beyond]) > above.worth[i]) {
      above.worth[i] = after_cut(above, above.next_cut[beyond]);
      above.choice[i] = choice_skip;
    }
  }

  Stack trace() const {
    Stack stack;
    const Above* above = needed >= 0 ? &with : &any;
    int b = above->next_cut[0];
    if (b < 0 || after_cut(*above, b) <= 0.0) return stack;
    stack.worth = after_cut(*above, b);
    while (b < table.levels) {
      const int chosen = above->choice[static_cast<std::size_t>(b)];
      if (chosen == choice_end) break;
      if (chosen == choice_skip) {
        b = above->next_cut[static_cast<std::size_t>(b + kerf_strips)];
      } else {
        stack.items.push_back({chosen, b});
        above = &over(*above, chosen);
        b += table.items[static_cast<std::size_t>(chosen)].pitch;
      }
    }
    return stack;
  }
};

}  // namespace

Stack best_stack(const StackTable& table, int kerf_strips) {
  Solver solver{table, kerf_strips, -1, ranges_of(table)};
  solver.solve();
  return solver.trace();
}

Stack best_stack_lazily(StackTable& table, int kerf_strips, double cutoff, Known enough,
                        const Refine& refine, int one_from) {
  Solver solver{table, kerf_strips, one_from, ranges_of(table)};
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
