#include "turn_plot.hpp"

#include <gtest/gtest.h>

#include <cmath>

#include "kerfwright/sheet/saw_sheet.hpp"
#include "samples.hpp"

namespace kerfwright {
namespace {

Order one_board() {
  Order order;
  Product board;
  board.name = "board";
  board.thickness = 27;
  board.width = 120;
  board.lengths = {900, 1800};
  board.price_per_m3 = 500;
  order.products = {board};
  return order;
}

TEST(ValueByTurn, IsTheSameAtEveryTurnForARoundStraightLog) {
  const LogShape shape = samples::bowed_log({2000, 150, 150, 5, 0, 0});
  LogShape even = shape;
  for (auto& ring : even.sigma) std::fill(ring.begin(), ring.end(), 0.8F);
  const auto curve = value_by_turn(even, one_board(), {}, 12);
  ASSERT_EQ(curve.size(), 24U);
  for (const TurnWorth& point : curve) {
    EXPECT_NEAR(point.worth, curve[0].worth, 0.06 * curve[0].worth);  // 64 corners are not round
    EXPECT_GT(point.worth, 0.0);
  }
}

TEST(ValueByTurn, IsMoreWhereABowLiesFlatInTheCuts) {
  // Bows towards +y, so that lying level planes, at turns 0 and 180, hold the whole bow.
  const LogShape shape = samples::bowed_log({2000, 150, 150, 5, 90, 0});
  const auto curve = value_by_turn(shape, one_board(), {}, 12);
  EXPECT_GT(curve[0].worth, 1.05 * curve[6].worth);
  EXPECT_DOUBLE_EQ(curve[0].worth, curve[12].worth);
}

TEST(TurnPlot, TellsHowFarATurnMayBeOff) {
  std::vector<TurnWorth> curve;
  for (int turn = 0; turn < 360; turn += 5) {
    curve.push_back({1.0 * turn, 100.0 - std::abs(turn - 180.0) / 2});  // loses 1 in 2 degrees
  }
  EXPECT_NEAR(sheet::forgiven(curve, 180, 0.95), 10.0, 0.5);
  EXPECT_NEAR(sheet::forgiven(curve, 180, 0.9), 20.0, 0.5);
}

TEST(TurnPlot, IsLeftOutWhereThereIsNoCurve) {
  const std::string without = saw_sheet_html(samples::live_plan(), samples::live_log());
  EXPECT_EQ(without.find("class=\"turns\""), std::string::npos);
  const std::vector<TurnWorth> curve = {{0, 5}, {90, 10}, {180, 5}, {270, 10}};
  const std::string with = saw_sheet_html(samples::live_plan(), samples::live_log(), curve);
  EXPECT_NE(with.find("class=\"turns\""), std::string::npos);
}

}  // namespace
}  // namespace kerfwright
