#include <gtest/gtest.h>

#include <cmath>
#include <numbers>

#include "kerfwright/error.hpp"
#include "kerfwright/saw/plan_log.hpp"
#include "kerfwright/saw/replay.hpp"
#include "shapes.hpp"
#include "worth.hpp"

namespace kerfwright {
namespace {

using shapes::bowed;
using shapes::quick;

Order blanks_and_boards() {
  Order order = shapes::boards(27, {600, 1100}, 100, 150, 50);
  order.products.push_back(shapes::product("bowl blank", 80, 160, {180, 240}, 700));
  order.products.back().blank = true;
  return order;
}

bool all_blanks(const SawPlan& plan) {
  for (const Board& board : plan.boards) {
    if (board.product != "bowl blank") return false;
  }
  return true;
}

TEST(Blanks, AloneAreSawnOutOfTheLogOrOutOfBoltsWhicheverIsWorthMore) {
  const Order order = blanks_and_boards();
  Order only = order;
  only.products.erase(only.products.begin(), only.products.end() - 1);
  PlanSettings blanks = quick();
  blanks.patterns = {Pattern::blanks};
  PlanSettings live = quick();
  live.patterns = {Pattern::live};
  bool any_bolts = false;
  for (const double sweep : {0.0, 90.0}) {
    const LogShape shape = bowed(1150, 125, 110, sweep);
    const SawPlan plan = plan_log(shape, order, Mill{}, blanks);
    EXPECT_TRUE(replay(plan, shape).complete);
    EXPECT_TRUE(all_blanks(plan));
    EXPECT_NE(plan.pattern.find("blanks"), std::string::npos) << plan.pattern;
    EXPECT_EQ(plan.pattern.find("live"), std::string::npos) << plan.pattern;
    EXPECT_GE(plan.totals.net, plan_log(shape, only, Mill{}, live).totals.net - 1e-9);
    any_bolts = any_bolts || plan.pattern.find("cross-cut") != std::string::npos;
  }
  EXPECT_TRUE(any_bolts);
}

TEST(Blanks, ComeFromABurlWhereItsWoodIsDear) {
  LogShape shape = bowed(650, 110, 107, 0);
  // A burl of 70 mm, a third of a metre from the butt, on the side of +y (9 on the clock).
  for (std::size_t i = 0; i < shape.stations.size(); ++i) {
    for (std::size_t j = 0; j < 64; ++j) {
      const double along = (shape.stations[i] - 330.0) / 100.0;
      const double angle = 2.0 * std::numbers::pi * static_cast<double>(j) / 64.0;
      const double round = std::remainder(angle, 2.0 * std::numbers::pi) / 0.6;
      shape.radius[i][j] +=
          static_cast<float>(70.0 * std::exp(-0.5 * (along * along + round * round)));
    }
  }
  shape.marks.figure.push_back({"burl", 230, 430, 7.5, 10.5, 0});
  Order order;
  order.products.push_back(shapes::product("bowl blank", 80, 110, {200}, 600));
  order.products.back().blank = true;
  PlanSettings settings = quick();
  settings.turn_step = 45;
  settings.lifts = 1;
  settings.patterns = {Pattern::blanks};
  const SawPlan plain = plan_log(shape, order, Mill{}, settings);
  order.products.back().figure = {{"burl", 4.0}};
  const SawPlan plan = plan_log(shape, order, Mill{}, settings);
  EXPECT_TRUE(replay(plan, shape).complete);
  const saw::WoodMarks marks(shape);
  const auto in_burl = [&](const SawPlan& of) {
    double sum = 0.0;
    for (const Board& board : of.boards) {
      sum += saw::worth_of(board, order.products.back(), marks).factor - 1.0;
    }
    return sum;
  };
  EXPECT_GT(in_burl(plan), in_burl(plain) + 0.3);
  EXPECT_GE(plan.totals.value, plain.totals.value);
}

TEST(Blanks, AreSaidToSuitNothingWhereThereAreNone) {
  PlanSettings settings = quick();
  settings.patterns = {Pattern::blanks};
  try {
    plan_log(bowed(1200, 130, 120, 10), shapes::boards(27, {800}), Mill{}, settings);
    FAIL() << "a board was sawn as a blank";
  } catch (const UserError& error) {
    EXPECT_EQ(error.fault(), Fault::no_product_fits);
    EXPECT_NE(std::string(error.what()).find("'blanks' suits no product"), std::string::npos);
  }
}

}  // namespace
}  // namespace kerfwright
