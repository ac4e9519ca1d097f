#include "stack.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <random>

namespace kerfwright::saw {
namespace {

StackTable random_table(std::mt19937& random, int levels, int kerf) {
  StackTable table;
  table.levels = levels;
  int beyond = 1;
  for (int item = 0; item < 3; ++item) {
    const int strips = 1 + static_cast<int>(random() % 4);
    table.items.push_back({strips, strips + kerf});
    beyond = std::max(beyond, strips + kerf);
    table.worth.emplace_back();
    for (int b = 0; b < levels; ++b) {
      const bool fits = b + strips <= levels;
      table.worth.back().push_back(fits ? static_cast<float>(random() % 10) : 0.0F);
    }
    table.known.emplace_back(static_cast<std::size_t>(levels), Known::exact);
  }
  for (int b = 0; b < levels + beyond + 1; ++b) {
    table.cut_cost.push_back(static_cast<float>(random() % 3));
  }
  return table;
}

/// Every way to go on above a cut whose upper side lies at `level`, by plain recursion.
double recursion(const StackTable& table, int kerf, int level) {
  double best = 0.0;
  if (level >= table.levels) return best;
  const auto cost = [&](int at) {
    return static_cast<double>(table.cut_cost[static_cast<std::size_t>(at)]);
  };
  for (std::size_t k = 0; k < table.items.size(); ++k) {
    const double worth = static_cast<double>(table.worth[k][static_cast<std::size_t>(level)]);
    const int next = level + table.items[k].pitch;
    if (worth > 0.0) best = std::max(best, worth - cost(next) + recursion(table, kerf, next));
  }
  for (int cut = level + kerf; cut < table.levels; ++cut) {
    best = std::max(best, recursion(table, kerf, cut) - cost(cut));
  }
  return best;
}

double brute_force(const StackTable& table, int kerf) {
  double best = 0.0;
  for (int level = 0; level < table.levels; ++level) {
    best = std::max(best, recursion(table, kerf, level) -
                              static_cast<double>(table.cut_cost[static_cast<std::size_t>(level)]));
  }
  return best;
}

TEST(Stack, TheExampleOfTheHeaderComesOut) {
  StackTable table;
  table.levels = 4;
  table.items = {{1, 2}};
  table.worth = {{1, 1, 1, 1}};
  table.known = {std::vector<Known>(4, Known::exact)};
  table.cut_cost.assign(7, 0.0F);
  const Stack stack = best_stack(table, 1);
  ASSERT_EQ(stack.items.size(), 2U);
  EXPECT_EQ(stack.items[0].bottom, 0);
  EXPECT_EQ(stack.items[1].bottom, 2);
  EXPECT_DOUBLE_EQ(stack.worth, 2.0);
}

TEST(Stack, EqualsPlainRecursionOnRandomTables) {
  std::mt19937 random(7);
  for (int trial = 0; trial < 200; ++trial) {
    const int kerf = 1 + static_cast<int>(random() % 2);
    const StackTable table = random_table(random, 11, kerf);
    EXPECT_DOUBLE_EQ(best_stack(table, kerf).worth, brute_force(table, kerf)) << "trial " << trial;
  }
}

/// Turned over, sawn from above only, or from below only.
TEST(Stack, PaysForATurnWhereTheBladeReachesItFromNeitherSideAlone) {
  std::mt19937 random(17);
  int turned = 0;
  int from_below = 0;
  for (int trial = 0; trial < 300; ++trial) {
    const int kerf = 1 + static_cast<int>(random() % 2);
    StackTable table = random_table(random, 11, kerf);
    const double any = brute_force(table, kerf);
    table.reach = {static_cast<int>(random() % 8), 4 + static_cast<int>(random() % 8),
                   static_cast<double>(random() % 7)};
    double above = 0.0;
    for (int level = table.reach.from_above; level < table.levels; ++level) {
      const auto cost = static_cast<double>(table.cut_cost[static_cast<std::size_t>(level)]);
      above = std::max(above, recursion(table, kerf, level) - cost);
    }
    StackTable low = table;
    for (std::size_t k = static_cast<std::size_t>(table.reach.from_below) + 1;
         k < low.cut_cost.size(); ++k) {
      low.cut_cost[k] = 1e6F;
    }
    const double below = brute_force(low, kerf);
    const double best = std::max({0.0, any - table.reach.turn_cost, above, below});
    const Stack stack = best_stack(table, kerf);
    EXPECT_DOUBLE_EQ(stack.worth, best) << "trial " << trial;
    if (!within_reach(table.reach, table.items, stack)) ++turned;
    if (below > std::max(above, any - table.reach.turn_cost)) ++from_below;
  }
  EXPECT_GT(turned, 20);
  EXPECT_GT(from_below, 20);
}

TEST(Stack, MovesOnlyAsFarAsNoTurnIsNeeded) {
  const std::vector<StackItem> items = {{3, 4}};
  Stack stack;
  stack.items = {{0, 10}, {0, 14}};
  EXPECT_EQ(shift_within_reach({8, 12, 1.0}, items, stack, 5), 5);
  EXPECT_EQ(shift_within_reach({8, 12, 1.0}, items, stack, -5), -2);
  EXPECT_EQ(shift_within_reach({8, 13, 1.0}, items, stack, -5), -5);   // then from below
  EXPECT_EQ(shift_within_reach({11, 16, 1.0}, items, stack, -5), -5);  // it is turned before
  EXPECT_EQ(shift_within_reach({17, 20, 1.0}, items, stack, 5), 2);    // from below only
}

TEST(Stack, LazyBoundsGiveTheSameWorthAsTheWholeTable) {
  std::mt19937 random(11);
  for (int trial = 0; trial < 200; ++trial) {
    const StackTable truth = random_table(random, 16, 1);
    StackTable bounds = truth;
    for (std::size_t k = 0; k < bounds.items.size(); ++k) {
      for (std::size_t b = 0; b < bounds.worth[k].size(); ++b) {
        if (truth.worth[k][b] > 0.0F) bounds.worth[k][b] += static_cast<float>(random() % 5);
        bounds.known[k][b] = Known::rough;
      }
    }
    const Stack lazy =
        best_stack_lazily(bounds, 1, 0.0, Known::exact, [&](int item, int bottom, double) {
          const auto k = static_cast<std::size_t>(item);
          const auto b = static_cast<std::size_t>(bottom);
          bounds.worth[k][b] = truth.worth[k][b];
          bounds.known[k][b] = Known::exact;
          return bottom;
        });
    EXPECT_DOUBLE_EQ(lazy.worth, best_stack(truth, 1).worth) << "trial " << trial;
  }
}

}  // namespace
}  // namespace kerfwright::saw
