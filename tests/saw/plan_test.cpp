#include <gtest/gtest.h>

#include <cmath>
#include <numbers>

#include "kerfwright/error.hpp"
#include "kerfwright/saw/plan_log.hpp"
#include "kerfwright/saw/replay.hpp"
#include "kerfwright/sheet/plan_file.hpp"
#include "shapes.hpp"

namespace kerfwright {
namespace {

/// A log that tapers straight and bows to one side.
LogShape bowed_log(double length, double butt_radius, double top_radius, double sweep) {
  LogShape shape;
  shape.angles = 64;
  for (double x = 0; x <= length; x += 50) {
    const double share = x / length;
    shape.stations.push_back(x);
    shape.axis.emplace_back(4.0 * sweep * share * (1.0 - share), 0.0);
    const auto radius = static_cast<float>(butt_radius + (top_radius - butt_radius) * share);
    shape.radius.emplace_back(64, radius);
    shape.sigma.emplace_back(64, 0.5F);
    shape.seen.emplace_back(64, static_cast<unsigned char>(1));
  }
  return shape;
}

Order planks(double thickness, std::vector<double> lengths) {
  Order order;
  for (const double width : {100.0, 125.0, 150.0, 175.0, 200.0}) {
    Product product;
    product.name = "plank " + std::to_string(std::lround(width));
    product.thickness = thickness;
    product.width = width;
    product.lengths = lengths;
    product.price_per_m3 = 500;
    order.products.push_back(product);
  }
  return order;
}

using shapes::quick;

TEST(Plan, EveryBoardIsThereWhenSawnOnPaper) {
  const LogShape shape = bowed_log(2450, 160, 140, 40);
  const SawPlan plan = plan_log(shape, planks(50, {800, 1200, 2400}), Mill{}, quick());
  const Replay result = replay(plan, shape);
  EXPECT_TRUE(result.complete) << (result.sentences.empty() ? "" : result.sentences.front());
  EXPECT_NEAR(result.value_found, plan.totals.value, 1e-9);
}

TEST(Plan, AStraightSoftwoodLogYieldsHalfOfItsWoodInPlanks) {
  // 50 to 60 % is good practice on a small mill (common practice, no source).
  const LogShape shape = bowed_log(4000, 155, 145, 0);
  const SawPlan plan = plan_log(shape, planks(50, {3900, 1900}), Mill{}, quick());
  EXPECT_GE(plan.totals.yield, 0.50);
  EXPECT_LE(plan.totals.yield, 0.85);
}

/// Sizes whose slots, with the kerf, are a tenth of a millimetre or a hair more wider than they:
/// one cut makes the faces on both its sides.
TEST(Plan, PiecesThatASlotHoldsWithATenthToSpareComeOutAsThoseThatFillIt) {
  struct Sizes {
    double thickness, width, length;
  };
  const LogShape shape = bowed_log(2450, 160, 140, 20);
  Mill mill;
  mill.kerf = 2.5;
  PlanSettings settings = quick();
  settings.turn_step = 45;
  settings.lifts = 1;
  const auto count_of = [&](const Sizes& sizes) {
    Order order;
    order.products.push_back(
        shapes::product("board", sizes.thickness, sizes.width, {sizes.length}, 500));
    return static_cast<int>(plan_log(shape, order, mill, settings).boards.size());
  };
  const double filling = 0.95 * count_of({42.5, 97.5, 497.5});
  for (const double spare : {0.1, 0.104}) {
    SCOPED_TRACE(spare);
    EXPECT_GE(count_of({42.5 - spare, 97.5, 497.5}), filling);
    EXPECT_GE(count_of({42.5, 97.5 - spare, 497.5}), filling);
    EXPECT_GE(count_of({42.5, 97.5, 497.5 - spare}), filling);
  }
}

TEST(Plan, NoMoreIsSawnThanTheOrderWants) {
  Order order = planks(50, {1200, 2400});
  for (Product& product : order.products) product.wanted = 1;
  const LogShape shape = bowed_log(2450, 160, 140, 20);
  const SawPlan plan = plan_log(shape, order, Mill{}, quick());
  for (const Product& product : order.products) {
    EXPECT_LE(std::count_if(plan.boards.begin(), plan.boards.end(),
                            [&](const Board& board) { return board.product == product.name; }),
              1);
  }
  EXPECT_FALSE(plan.boards.empty());
}

TEST(Plan, IsTheSameOnOneThreadAndOnTwo) {
  const LogShape shape = bowed_log(1250, 130, 120, 30);
  PlanSettings one = quick();
  one.threads = 1;
  PlanSettings two = quick();
  two.threads = 2;
  const Order order = planks(27, {600, 1200});
  EXPECT_EQ(plan_to_json(plan_log(shape, order, Mill{}, one)),
            plan_to_json(plan_log(shape, order, Mill{}, two)));
}

TEST(Plan, TwoProductsOfOneThicknessMayAllowDifferentWane) {
  Order order = planks(50, {800, 1200, 2400});
  for (std::size_t i = 0; i < order.products.size(); ++i) {
    order.products[i].wane = i % 2 == 0 ? 0.05 : 0.3;
  }
  const LogShape shape = bowed_log(2450, 160, 140, 40);
  Order strict = order;
  for (Product& product : strict.products) product.wane = 0.0;
  const SawPlan plan = plan_log(shape, order, Mill{}, quick());
  EXPECT_TRUE(replay(plan, shape).complete);
  EXPECT_GE(plan.totals.value, plan_log(shape, strict, Mill{}, quick()).totals.value - 1e-9);
}

TEST(Plan, SaysWhichPatternsThereAreWhenOneIsNotKnown) {
  try {
    pattern_named("plain");
    FAIL() << "a pattern of that name";
  } catch (const UserError& error) {
    EXPECT_EQ(error.fault(), Fault::usage);
    EXPECT_NE(std::string(error.what())
                  .find("live, cant, boxed-heart, quarter, around, slabs, blanks, cross-cut"),
              std::string::npos);
  }
}

TEST(Plan, SaysWhenNoProductFits) {
  try {
    plan_log(bowed_log(900, 60, 55, 0), planks(50, {2400}), Mill{}, quick());
    FAIL() << "a plank of 2.4 m came out of a log of 0.9 m";
  } catch (const UserError& error) {
    EXPECT_EQ(error.fault(), Fault::no_product_fits);
  }
}

TEST(Replay, FindsAMovedBoardAndACutThatGoesThroughOne) {
  const LogShape shape = bowed_log(1250, 130, 120, 10);
  const SawPlan plan = plan_log(shape, planks(27, {1200}), Mill{}, quick());
  SawPlan moved = plan;
  moved.boards.front().corner += 3.0 * moved.boards.front().up;
  EXPECT_FALSE(replay(moved, shape).complete);
  SawPlan shifted = plan;
  shifted.cuts.front().point -= 5.0 * shifted.cuts.front().normal;
  EXPECT_FALSE(replay(shifted, shape).complete);
  SawPlan dear = plan;
  dear.totals.value += 1.0;
  EXPECT_FALSE(replay(dear, shape).complete);
  SawPlan lost = plan;
  lost.boards.front().corner.x() = std::nan("");
  EXPECT_FALSE(replay(lost, shape).complete);
  SawPlan bare = plan;
  bare.boards.clear();
  bare.totals.value = 0.0;
  EXPECT_FALSE(replay(bare, shape).complete);
  EXPECT_FALSE(replay(plan, bowed_log(1250, 80, 70, 10)).complete);
}

}  // namespace
}  // namespace kerfwright
