#include "stack.hpp"

#include <algorithm>
#include <limits>

namespace kerfwright::saw {
namespace {

enum : int { choice_end = -1, choice_skip = -2 };

/// An item of the table, with the heights at which it may be worth something.
struct Item {
  int first = 0, last = -1;
  int pitch = 0;
  const float* worth = nullptr;  ///< [bottom]
};

std::vector<Item> items_of(const StackTable& table) {
  std::vector<Item> items;
  for (std::size_t k = 0; k < table.items.size(); ++k) {
    const std::vector<float>& worth = table.worth[k];
    const auto is_some = [](float w) { return w > 0.0F; };
    const auto first = std::find_if(worth.begin(), worth.end(), is_some);
    const auto last = std::find_if(worth.rbegin(), worth.rend(), is_some);
    items.push_back({static_cast<int>(first - worth.begin()),
                     static_cast<int>(worth.rend() - last) - 1, table.items[k].pitch,
                     worth.data()});
  }
  return items;
}

/// What is best above each level, once a cut has been made there.
struct Above {
  std::vector<double> worth{};      ///< U(b)
  std::vector<double> after_cut{};  ///< U(b) less what the cut at b costs
  std::vector<int> choice{};
  std::vector<int> next_cut{};  ///< best level of a further cut at or above a level, -1 = none

  explicit Above(const std::vector<float>& cut_cost)
      : worth(cut_cost.size(), 0.0),
        after_cut(cut_cost.size()),
        choice(cut_cost.size(), choice_end),
        next_cut(cut_cost.size() + 1, -1) {
    for (std::size_t i = 0; i < cut_cost.size(); ++i) {
      after_cut[i] = -static_cast<double>(cut_cost[i]);
    }
  }
};

class Solver {
 public:
  /// @param needed a stack must have one of the items from this on; -1 = any stack
  Solver(const StackTable& table, int kerf_strips, int needed)
      : table_(table),
        kerf_strips_(kerf_strips),
        needed_(needed),
        items_(items_of(table)),
        any_(table.cut_cost),
        with_(needed >= 0 ? table.cut_cost : std::vector<float>{}) {
    lowest_ = table.levels;
    for (const Item& item : items_) {
      if (item.last < item.first) continue;
      lowest_ = std::min(lowest_, item.first);
      highest_ = std::max(highest_, item.last);
    }
  }

  /// @param from no worth above this level has changed since the last time
  void solve(int from) {
    const bool anew = !solved_;
    solved_ = true;
    for (int b = std::min(from, highest_); b >= lowest_; --b) {
      if (anew || !stands(any_, b)) choose(any_, b);
      find_next_cut(any_, b);
      if (needed_ < 0) continue;
      if (anew || !stands(with_, b)) choose(with_, b);
      find_next_cut(with_, b);
    }
  }

  Stack trace() const {
    Stack stack;
    const Above* above = needed_ >= 0 ? &with_ : &any_;
    if (lowest_ >= table_.levels) return stack;
    int b = above->next_cut[static_cast<std::size_t>(lowest_)];
    if (b < 0 || after_cut(*above, b) <= 0.0) return stack;
    stack.worth = after_cut(*above, b);
    while (b < table_.levels) {
      const int chosen = above->choice[static_cast<std::size_t>(b)];
      if (chosen == choice_end) break;
      if (chosen == choice_skip) {
        b = above->next_cut[static_cast<std::size_t>(b + kerf_strips_)];
      } else {
        stack.items.push_back({chosen, b});
        above = &over(*above, chosen);
        b += items_[static_cast<std::size_t>(chosen)].pitch;
      }
    }
    return stack;
  }

 private:
  static double after_cut(const Above& above, int level) {
    return above.after_cut[static_cast<std::size_t>(level)];
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
    return &above == &with_ && item < needed_ ? with_ : any_;
  }

  int skip_to(const Above& above, int b) const {
    const std::size_t beyond =
        std::min(static_cast<std::size_t>(b + kerf_strips_), above.next_cut.size() - 1);
    return above.next_cut[beyond];
  }

  /// Whether what was chosen at a level is worth as much as before: then it is still the best,
  /// since worths only fall.
  bool stands(const Above& above, int b) const {
    const auto i = static_cast<std::size_t>(b);
    const int choice = above.choice[i];
    if (choice == choice_end) return true;
    if (choice == choice_skip) {
      const int to = skip_to(above, b);
      return to >= 0 && after_cut(above, to) == above.worth[i];
    }
    const Item& item = items_[static_cast<std::size_t>(choice)];
    return static_cast<double>(item.worth[i]) + after_cut(over(above, choice), b + item.pitch) ==
           above.worth[i];
  }

  void choose(Above& above, int b) const {
    const auto i = static_cast<std::size_t>(b);
    double best = 0.0;
    int choice = choice_end;
    const int count = static_cast<int>(items_.size());
    for (int k = 0; k < count; ++k) {
      const Item& item = items_[static_cast<std::size_t>(k)];
      if (b < item.first || b > item.last) continue;
      const auto worth = static_cast<double>(item.worth[i]);
      if (worth <= 0.0) continue;
      const Above& rest = over(above, k);
      const auto level = i + static_cast<std::size_t>(item.pitch);
      // Nothing above it would leave the needed item out.
      if (&rest == &with_ && rest.worth[level] <= 0.0) continue;
      const double total = worth + rest.after_cut[level];
      if (total > best) {
        best = total;
        choice = k;
      }
    }
    const int to = skip_to(above, b);
    if (to >= 0 && after_cut(above, to) > best) {
      best = after_cut(above, to);
      choice = choice_skip;
    }
    above.worth[i] = best;
    above.after_cut[i] = best - static_cast<double>(table_.cut_cost[i]);
    above.choice[i] = choice;
  }

  const StackTable& table_;
  int kerf_strips_;
  int needed_;
  std::vector<Item> items_;  ///< worths only ever fall, so they hold for every round
  int lowest_ = 0, highest_ = -1;
  bool solved_ = false;
  Above any_;   ///< whatever may lie above
  Above with_;  ///< one of the needed items does
};

}  // namespace

void add_item(StackTable& table, const StackItem& item, int bottom, double worth) {
  const auto levels = static_cast<std::size_t>(table.levels);
  table.items.push_back(item);
  table.worth.emplace_back(levels, 0.0F);
  table.worth.back()[static_cast<std::size_t>(bottom)] = static_cast<float>(worth);
  table.known.emplace_back(levels, Known::exact);
}

Stack best_stack(const StackTable& table, int kerf_strips) {
  Solver solver(table, kerf_strips, -1);
  solver.solve(table.levels);
  return solver.trace();
}

Stack best_stack_lazily(StackTable& table, int kerf_strips, double cutoff, Known enough,
                        const Refine& refine, int one_from) {
  Solver solver(table, kerf_strips, one_from);
  int changed = table.levels;  // the highest level
  while (true) {
    solver.solve(changed);
    changed = -1;
    Stack stack = solver.trace();
    if (stack.worth <= cutoff) return {};
    for (const Placed& placed : stack.items) {
      const auto k = static_cast<std::size_t>(placed.item);
      const auto b = static_cast<std::size_t>(placed.bottom);
      if (table.known[k][b] >= enough) continue;
      // Worth less than this, no stack through the item here can beat the cutoff.
      const double needed = static_cast<double>(table.worth[k][b]) - (stack.worth - cutoff);
      changed = std::max(changed, refine(placed.item, placed.bottom, needed));
    }
    if (changed < 0) return stack;
  }
}

}  // namespace kerfwright::saw
