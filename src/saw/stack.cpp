#include "stack.hpp"

#include <algorithm>
#include <limits>
#include <optional>
#include <utility>

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
  std::vector<double> worth;        ///< U(b)
  std::vector<double> after_cut{};  ///< U(b) less what the cut at b costs
  std::vector<int> choice{};
  std::vector<int> next_cut{};  ///< best level of a further cut at or above a level, -1 = none

  /// @param nothing [level] what nothing above is worth there
  Above(const std::vector<float>& cut_cost, std::vector<double> nothing)
      : worth(std::move(nothing)),
        after_cut(cut_cost.size()),
        choice(cut_cost.size(), choice_end),
        next_cut(cut_cost.size() + 1, -1) {
    for (std::size_t i = 0; i < cut_cost.size(); ++i) {
      after_cut[i] = worth[i] - static_cast<double>(cut_cost[i]);
    }
  }
};

/// The side from which a stack is sawn without a turn; where a cut is out of reach, the turn is
/// paid.
enum class Side { above, below };

class Solver {
 public:
  /// @param needed a stack must have one of the items from this on; -1 = any stack
  Solver(const StackTable& table, int kerf_strips, int needed, Side side)
      : table_(table),
        kerf_strips_(kerf_strips),
        needed_(needed),
        side_(side),
        items_(items_of(table)),
        nothing_(nothing_above(table.cut_cost.size())),
        any_(table.cut_cost, nothing_),
        with_(needed >= 0 ? any_ : Above({}, {})) {
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

  /// What the best stack would be worth if no turn were paid for below.
  double most() const {
    const int b = lowest_cut();
    return b < 0 ? 0.0 : std::max(0.0, after_cut(wanted(), b));
  }

  Stack trace() const {
    Stack stack;
    const Above* above = &wanted();
    int b = lowest_cut();
    if (b < 0) return stack;
    if (const int reached = lowest_within_reach(*above); reached >= 0 && turns(b)) {
      if (after_cut(*above, reached) >= after_cut(*above, b) - table_.reach.turn_cost) b = reached;
    }
    const double worth = after_cut(*above, b) - (turns(b) ? table_.reach.turn_cost : 0.0);
    if (worth <= 0.0) return stack;
    stack.worth = worth;
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
  const Above& wanted() const { return needed_ >= 0 ? with_ : any_; }

  /// The best level of a lowest cut, -1 = none.
  int lowest_cut() const {
    return lowest_ < table_.levels ? wanted().next_cut[static_cast<std::size_t>(lowest_)] : -1;
  }

  static double after_cut(const Above& above, int level) {
    return above.after_cut[static_cast<std::size_t>(level)];
  }

  /// Whether a stack of which this is the lowest cut must be turned over for it.
  bool turns(int level) const { return side_ == Side::above && level < table_.reach.from_above; }

  /// The best level of a lowest cut that needs no turn, -1 = none.
  int lowest_within_reach(const Above& above) const {
    const int from = std::max(lowest_, table_.reach.from_above);
    return from <= highest_ ? above.next_cut[static_cast<std::size_t>(from)] : -1;
  }

  /// From below, a highest cut that is out of reach costs a turn.
  std::vector<double> nothing_above(std::size_t levels) const {
    std::vector<double> worth(levels, 0.0);
    if (side_ == Side::above) return worth;
    const auto first = static_cast<std::size_t>(std::max(0, table_.reach.from_below + 1));
    for (std::size_t i = first; i < levels; ++i) worth[i] = -table_.reach.turn_cost;
    return worth;
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
    double best = nothing_[i];
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
  Side side_;
  std::vector<Item> items_;  ///< worths only ever fall, so they hold for every round
  int lowest_ = 0, highest_ = -1;
  bool solved_ = false;
  std::vector<double> nothing_;  ///< [level] what nothing above is worth
  Above any_;                    ///< whatever may lie above
  Above with_;                   ///< one of the needed items does
};

}  // namespace

void add_item(StackTable& table, const StackItem& item, int bottom, double worth) {
  const auto levels = static_cast<std::size_t>(table.levels);
  table.items.push_back(item);
  table.worth.emplace_back(levels, 0.0F);
  table.worth.back()[static_cast<std::size_t>(bottom)] = static_cast<float>(worth);
  table.known.emplace_back(levels, Known::exact);
}

bool within_reach(const BladeReach& reach, const std::vector<StackItem>& items,
                  const Stack& stack) {
  if (stack.items.empty()) return true;
  const Placed& top = stack.items.back();
  return stack.items.front().bottom >= reach.from_above ||
         top.bottom + items[static_cast<std::size_t>(top.item)].pitch <= reach.from_below;
}

int shift_within_reach(const BladeReach& reach, const std::vector<StackItem>& items,
                       const Stack& stack, int shift) {
  if (reach.turn_cost <= 0.0 || !within_reach(reach, items, stack)) return shift;
  const auto moved = [&](int by) {
    Stack there = stack;
    for (Placed& placed : there.items) placed.bottom += by;
    return there;
  };
  while (shift != 0 && !within_reach(reach, items, moved(shift))) shift += shift > 0 ? -1 : 1;
  return shift;
}

namespace {

/// Sawn from above, and where the blade does not reach everywhere from below as well.
class BothSides {
 public:
  BothSides(const StackTable& table, int kerf_strips, int needed)
      : table_(table),
        kerf_strips_(kerf_strips),
        needed_(needed),
        above_(table, kerf_strips, needed, Side::above) {}

  /// @param from no worth above this level has changed since the last time
  Stack best(int from) {
    above_.solve(from);
    unsolved_from_ = std::max(unsolved_from_, from);
    Stack best = above_.trace();
    // From below no stack is worth more than one that never pays for a turn.
    if (above_.most() <= best.worth) return best;
    if (!below_) below_.emplace(table_, kerf_strips_, needed_, Side::below);
    below_->solve(unsolved_from_);
    unsolved_from_ = -1;
    Stack other = below_->trace();
    return other.worth > best.worth ? other : best;
  }

 private:
  const StackTable& table_;
  int kerf_strips_;
  int needed_;
  Solver above_;
  std::optional<Solver> below_;  ///< once it is asked for
  int unsolved_from_ = -1;       ///< for that
};

}  // namespace

Stack best_stack(const StackTable& table, int kerf_strips) {
  return BothSides(table, kerf_strips, -1).best(table.levels);
}

Stack best_stack_lazily(StackTable& table, int kerf_strips, double cutoff, Known enough,
                        const Refine& refine, int one_from) {
  BothSides solver(table, kerf_strips, one_from);
  int changed = table.levels;  // the highest level
  while (true) {
    Stack stack = solver.best(changed);
    changed = -1;
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
