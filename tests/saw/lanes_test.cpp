#include "lanes.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <random>

namespace kerfwright::saw {
namespace {

Order small_order() {
  Order order;
  order.products = {{"wide", 2, 3, {3, 5}, {4, 5}, {}, 0.0, {}},
                    {"narrow", 2, 2, {2, 4}, {1.5, 3}, {}, 0.0, {}},
                    {"narrow, of other lengths", 2, 2, {1, 2}, {0.9, 1.6}, {}, 0.0, {}}};
  return order;
}

/// Best pieces end to end in a run, by recursion.
double run_by_recursion(const Product& product, double kerf, double run) {
  double best = 0.0;
  for (std::size_t i = 0; i < product.lengths.size(); ++i) {
    if (product.lengths[i] > run) continue;
    best = std::max(best, product.value_of(i) +
                              run_by_recursion(product, kerf, run - product.lengths[i] - kerf));
  }
  return best;
}

struct Bench {
  std::vector<int> left, right;  // whole mm
};

double lane_by_recursion(const Bench& bench, const Product& product, double kerf, int at) {
  double worth = 0.0;
  int run = 0;
  for (std::size_t c = 0; c <= bench.left.size(); ++c) {
    const bool clear = c < bench.left.size() && bench.left[c] <= at &&
                       bench.right[c] >= at + static_cast<int>(product.width);
    if (clear) {
      ++run;
    } else {
      worth += run_by_recursion(product, kerf, run);
      run = 0;
    }
  }
  return worth;
}

double layout_by_recursion(const Bench& bench, const Order& order, int kerf, int from) {
  double best = 0.0;
  for (int at = from; at < 12; ++at) {
    for (const Product& product : order.products) {
      const double worth = lane_by_recursion(bench, product, kerf, at);
      if (worth <= 0.0) continue;
      const int next = at + static_cast<int>(product.width) + kerf;
      best = std::max(best, worth + layout_by_recursion(bench, order, kerf, next));
    }
  }
  return best;
}

/// Cells are 1 mm long: with a kerf of 3 a run that loses a cell in its middle may be worth more.
class EdgerOfKerf : public testing::TestWithParam<int> {};

INSTANTIATE_TEST_SUITE_P(AsLongAsACellAndLonger, EdgerOfKerf, testing::Values(1, 3));

TEST_P(EdgerOfKerf, EqualsPlainRecursionOnRandomFlitches) {
  const Order order = small_order();
  Mill mill;
  const int kerf = GetParam();
  mill.kerf = kerf;
  std::mt19937 random(3);
  const HeightGrid grid{0, 1, 10};
  const Catalogue catalogue = catalogue_of(order, mill, prices_of(order, mill), grid, 8, 10);
  ASSERT_EQ(catalogue.classes.size(), 1U);
  for (int trial = 0; trial < 200; ++trial) {
    Bench bench;
    FlitchWood wood;
    wood.outer.left.at.fill(32767);
    wood.outer.right.at.fill(-32768);
    std::vector<double> border = {0};
    for (std::size_t c = 0; c < 8; ++c) {
      bench.left.push_back(static_cast<int>(random() % 6));
      bench.right.push_back(4 + static_cast<int>(random() % 8));
      wood.outer.left.at[c] = static_cast<Unit>(bench.left.back() * units_per_mm);
      wood.outer.right.at[c] = static_cast<Unit>(bench.right.back() * units_per_mm);
      border.push_back(static_cast<double>(c) + 1.0);
    }
    wood.last_cell = 7;
    Edger edger(catalogue, border);
    const double best = edger.best(catalogue.classes[0], wood);
    EXPECT_NEAR(best, layout_by_recursion(bench, order, kerf, 0), 1e-5) << "trial " << trial;
    if (kerf == 1) {  // bounds take a kerf to be no longer than a cell
      EXPECT_GE(bound_of(catalogue.classes[0], wood, border), best - 1e-5) << "trial " << trial;
    }
    double pieces = 0.0;
    for (const Piece& piece : edger.layout(catalogue.classes[0], wood)) {
      pieces += order.products[static_cast<std::size_t>(piece.product)].value_of(
          static_cast<std::size_t>(piece.length));
    }
    EXPECT_NEAR(pieces, best, 1e-5) << "trial " << trial;
  }
}

}  // namespace
}  // namespace kerfwright::saw
