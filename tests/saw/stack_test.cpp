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
