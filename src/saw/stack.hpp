#pragma once

#include <functional>
#include <limits>
#include <vector>

namespace kerfwright::saw {

/// A kind of thing in a stack, from bottom to top between two parallel cuts: a flitch class or a
/// cant.
struct StackItem {
  int strips = 0;  ///< strips of height it takes
  int pitch = 0;   ///< the same with the kerf above it
};

/// An item with its bottom face at a strip's lower level.
struct Placed {
  int item = 0;
  int bottom = 0;
};

/// How well a worth is known.
enum Known : char {
  rough = 0,  ///< an upper bound from widths alone
  near = 1,   ///< an upper bound from the wood that neighbouring heights share
  exact = 2
};

/// Where the blade reaches without a turn: from above all cuts whose upper side lies at
/// `from_above` or higher, from below, with the log turned over, all at `from_below` or lower. A
/// stack that needs both sides costs half a turn more.
struct BladeReach {
  int from_above = std::numeric_limits<int>::min();  ///< level
  int from_below = std::numeric_limits<int>::max();  ///< level
  double turn_cost = 0;
};

/// What each item is worth at each height, or an upper bound of it.
struct StackTable {
  std::vector<StackItem> items;
  std::vector<std::vector<float>> worth;  ///< [item][bottom]
  std::vector<std::vector<Known>> known;  ///< [item][bottom]
  std::vector<float>
      cut_cost;    ///< [level] of a cut whose upper side is there; levels + pitch entries
  int levels = 0;  ///< strips
  BladeReach reach{};
};

/// Adds an item that can lie at one height only, where its worth is known.
void add_item(StackTable& table, const StackItem& item, int bottom, double worth);

struct Stack {
  double worth = 0;
  std::vector<Placed> items;  ///< from bottom to top
};

/// The best stack by dynamic programming over the bottom faces, from above:
///   U(b) = max(0, max_i worth_i(b) + U(b + pitch_i) - cut(b + pitch_i), max_{b' >= b + kerf} U(b')
///   - cut(b')),
/// the worth above level b once a cut has been made with its upper side at b; the answer is the
/// best U(b) - cut(b), less half a turn where the blade reaches the stack from neither side alone.
/// Example: 4 strips, one item of 1 strip worth 1 at each height, kerf of 1
/// strip and free cuts: items at 0 and 2, worth 2. O(levels * items). Of equal stacks the one whose
/// items come first in the table, then the one that starts lowest, wins.
Stack best_stack(const StackTable& table, int kerf_strips);

/// Whether a stack is sawn from one side only.
bool within_reach(const BladeReach& reach, const std::vector<StackItem>& items, const Stack& stack);

/// As much of a shift of a stack, strips, as it can be moved without a turn more.
int shift_within_reach(const BladeReach& reach, const std::vector<StackItem>& items,
                       const Stack& stack, int shift);

/// Makes one entry of the table better known (one step of Known at least), or lowers its bound to
/// `needed` or less: a worth that low cannot matter. Worths may only fall. Returns the highest
/// bottom at which a worth of any item changed.
using Refine = std::function<int(int item, int bottom, double needed)>;

/// The best stack where the table holds upper bounds: solves, refines what was chosen, solves again
/// until all that is chosen is known as well as `enough`. With `exact` the stack is the best there
/// is; with less its worth is an upper bound. Gives up, with an empty stack, once no stack can be
/// worth more than `cutoff`. With `one_from` only stacks count that have
/// an item from that one on.
Stack best_stack_lazily(StackTable& table, int kerf_strips, double cutoff, Known enough,
                        const Refine& refine, int one_from = -1);

}  // namespace kerfwright::saw
