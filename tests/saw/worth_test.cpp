#include "worth.hpp"

#include <gtest/gtest.h>

#include <functional>

#include "kerfwright/saw/replay.hpp"
#include "shapes.hpp"

namespace kerfwright::saw {
namespace {

Board box(double x, double y, double z, double length, double width, double thickness) {
  Board board;
  board.product = "board";
  board.length = length;
  board.width = width;
  board.thickness = thickness;
  board.corner = {x, y, z};
  board.along = Eigen::Vector3d::UnitX();
  board.across = Eigen::Vector3d::UnitY();
  board.up = Eigen::Vector3d::UnitZ();
  return board;
}

Product graded() {
  Product product = shapes::product("board", 20, 100, {1000}, 1000);
  product.grades = Grades{1.0, 0.8, 0.5, 0.4};
  return product;
}

TEST(Worth, AGradeIsThatOfTheWorstMarkThatTheBoardTouches) {
  LogShape shape = shapes::bowed(2000, 150, 150, 0);
  shape.marks.knots.push_back({{600, 0, 150}, {600, 0, 0}, 40, true});
  const WoodMarks marks(shape);
  const Product product = graded();
  EXPECT_EQ(worth_of(box(800, -50, 40, 1000, 100, 20), product, marks).grade, "clear");
  const PieceWorth knotty = worth_of(box(100, -50, 100, 1000, 100, 20), product, marks);
  EXPECT_EQ(knotty.grade, "sound_knots");
  EXPECT_EQ(knotty.factor, 0.8);
  const PieceWorth pith = worth_of(box(100, -50, -10, 1000, 100, 20), product, marks);
  EXPECT_EQ(pith.grade, "pith");
  EXPECT_EQ(pith.factor, 0.5);
  Product plain = product;
  plain.grades.reset();
  EXPECT_EQ(worth_of(box(100, -50, -10, 1000, 100, 20), plain, marks).factor, 1.0);
}

TEST(Worth, KnotsMayTakeOnlyTheirShareOfTheWidth) {
  LogShape shape = shapes::bowed(2000, 150, 150, 0);
  // At 110 mm from the pith a knot of 60 mm at the bark is about 44 mm wide: 0.44 of 100 mm.
  shape.marks.knots.push_back({{600, 0, 150}, {600, 0, 0}, 60, true});
  Product product = graded();
  const Board board = box(100, -50, 100, 1000, 100, 20);
  EXPECT_FALSE(worth_of(board, product, WoodMarks(shape)).sold);
  product.grades->largest_knot = 0.6;
  EXPECT_TRUE(worth_of(board, product, WoodMarks(shape)).sold);
}

TEST(Worth, RotHollowSplitsMetalAndUnsoundKnotsAreNotSold) {
  const Product product = shapes::product("board", 20, 100, {1000}, 1000);
  const Board low = box(100, -50, 20, 1000, 100, 20);
  const auto sold_with = [&](const std::function<void(Marks&)>& mark) {
    LogShape shape = shapes::bowed(2000, 150, 150, 0);
    mark(shape.marks);
    return worth_of(low, product, WoodMarks(shape)).sold;
  };
  EXPECT_TRUE(sold_with([](Marks&) {}));
  EXPECT_FALSE(sold_with([](Marks& m) { m.rot.push_back({30, 30}); }));
  EXPECT_TRUE(sold_with([](Marks& m) { m.rot.push_back({15, 15}); }));
  EXPECT_FALSE(sold_with([](Marks& m) { m.hollow.push_back({30, 0}); }));
  EXPECT_FALSE(sold_with([](Marks& m) { m.splits.push_back({true, 150, {0, 1}, false}); }));
  EXPECT_TRUE(sold_with([](Marks& m) { m.splits.push_back({true, 90, {0, 1}, false}); }));
  EXPECT_TRUE(sold_with([](Marks& m) { m.splits.push_back({true, 150, {0, -1}, false}); }));
  EXPECT_FALSE(sold_with([](Marks& m) { m.metal.push_back({{500, 60, 30}, 12}); }));
  EXPECT_TRUE(sold_with([](Marks& m) { m.metal.push_back({{500, 70, 30}, 12}); }));
  EXPECT_FALSE(sold_with([](Marks& m) {
    m.knots.push_back({{600, 0, 150}, {600, 0, 0}, 40, false});
  }));
}

TEST(Worth, RingAnglesAreToldApartAtThePublishedLimits) {
  // Woodwork usage: lying 0 to 30 degrees, rift 30 to 60, standing 60 to 90 (quotations of the
  // usage and glossaries); at (0, 80), (80, 80) and (80, 0) from the pith the angle is 0, 45, 90.
  const Grain grain{1.3, 1.1, 0.9, 30, 60};
  EXPECT_EQ(grain_factor(grain, 0), 0.9);
  EXPECT_EQ(grain_factor(grain, 29.9), 0.9);
  EXPECT_EQ(grain_factor(grain, 30.1), 1.1);
  EXPECT_EQ(grain_factor(grain, 45), 1.1);
  EXPECT_EQ(grain_factor(grain, 60.1), 1.3);
  EXPECT_EQ(grain_factor(grain, 90), 1.3);
  const WoodMarks marks(shapes::bowed(2000, 150, 150, 0));
  Product product = shapes::product("board", 20, 20, {1000}, 1000);
  product.grain = grain;
  EXPECT_NEAR(worth_of(box(100, -10, 70, 1000, 20, 20), product, marks).factor, 0.9, 1e-9);
  EXPECT_NEAR(worth_of(box(100, 70, 70, 1000, 20, 20), product, marks).factor, 1.1, 1e-9);
  EXPECT_NEAR(worth_of(box(100, 70, -10, 1000, 20, 20), product, marks).factor, 1.3, 1e-9);
}

TEST(Worth, FigureCountsForTheShareOfThePieceThatLiesInIt) {
  LogShape shape = shapes::bowed(2000, 150, 150, 0);
  FigureZone burl;
  burl.name = "burl";
  burl.from = 0;
  burl.to = 600;
  shape.marks.figure.push_back(burl);
  Product product = shapes::product("board", 20, 100, {1000}, 1000);
  product.figure = {{"burl", 3.0}, {"curl", 9.0}};
  // Half of its length lies in the zone.
  EXPECT_NEAR(worth_of(box(100, -50, 40, 1000, 100, 20), product, WoodMarks(shape)).factor, 2.0,
              0.03);
}

TEST(Beyond, TheDearestPiecesCountInFullAndTheRestAtTheirShare) {
  SawPlan plan;
  Product product = shapes::product("board", 20, 100, {500, 1000}, 0);
  product.price_per_m3.reset();
  product.values = {2, 5};
  product.wanted = 2;
  product.beyond = 0.25;
  plan.order.products = {product};
  for (int i = 0; i < 4; ++i) {
    plan.boards.push_back(box(100, -50, 20 + 30.0 * i, i == 3 ? 500 : 1000, 100, 20));
    plan.boards.back().id = i + 1;
  }
  grade_boards(plan, WoodMarks(shapes::bowed(2000, 200, 200, 0)));
  EXPECT_EQ(plan.boards[0].value, 5.0);
  EXPECT_EQ(plan.boards[1].value, 5.0);
  EXPECT_EQ(plan.boards[2].value, 1.25);
  EXPECT_EQ(plan.boards[3].value, 0.5);
  EXPECT_EQ(plan.totals.value, 11.75);
}

TEST(Beyond, APlanWithPiecesBeyondReplaysAndBringsMoreThanOneWithout) {
  const LogShape shape = shapes::bowed(1250, 130, 125, 0);
  Order order = shapes::boards(30, {1200}, 100, 100);
  order.products[0].wanted = 2;
  const SawPlan without = plan_log(shape, order, Mill{}, shapes::quick());
  order.products[0].beyond = 0.5;
  const SawPlan with = plan_log(shape, order, Mill{}, shapes::quick());
  EXPECT_TRUE(replay(with, shape).complete);
  EXPECT_EQ(without.boards.size(), 2U);
  EXPECT_GT(with.boards.size(), 2U);
  EXPECT_GT(with.totals.value, without.totals.value);
  SawPlan dear = with;
  dear.totals.value += dear.boards.back().value;
  dear.boards.back().value *= 2;
  EXPECT_FALSE(replay(dear, shape).complete);
}

}  // namespace
}  // namespace kerfwright::saw
