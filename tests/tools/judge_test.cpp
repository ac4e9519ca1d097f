#include "invented/judge.hpp"

#include <gtest/gtest.h>

#include <Eigen/Geometry>
#include <cmath>

#include "invented/truth.hpp"

namespace kerfwright {
namespace {

/// A straight cylinder of 100 mm radius under 10 mm of bark.
InventedLog cylinder() {
  InventedLog log;
  log.length = 1000;
  log.butt_radius = log.top_radius = 110;
  log.bark = 10;
  return log;
}

Board board(double y, double z, double width, double thickness) {
  Board b;
  b.id = 1;
  b.product = "board";
  b.width = width;
  b.thickness = thickness;
  b.length = 900;
  b.value = 10;
  b.corner = {50, y, z};
  b.along = {1, 0, 0};
  b.across = {0, 1, 0};
  b.up = {0, 0, 1};
  return b;
}

SawPlan plan_of(const Board& b, double wane = 0) {
  SawPlan plan;
  Product product;
  product.name = "board";
  product.wane = wane;
  plan.order.products.push_back(product);
  plan.boards.push_back(b);
  return plan;
}

const Eigen::Matrix4d kSame = Eigen::Matrix4d::Identity();

TEST(Judge, FindsABoardWhoseCornersJustTouchTheWood) {
  // 160 wide and 120 thick: the corners lie at 100 mm from the axis.
  const JudgedPlan judged = judge(plan_of(board(-80, -60, 160, 120)), cylinder(), kSame);
  EXPECT_NEAR(judged.boards[0].protrusion, 0, 1e-9);
  EXPECT_TRUE(judged.boards[0].there);
  EXPECT_EQ(judged.value_there, 10);
  EXPECT_EQ(judged.share(), 1);
}

TEST(Judge, SaysHowFarABoardStandsOut) {
  const JudgedPlan judged = judge(plan_of(board(-77, -60, 160, 120)), cylinder(), kSame);
  EXPECT_NEAR(judged.boards[0].protrusion, std::hypot(83, 60) - 100, 1e-9);
  EXPECT_FALSE(judged.boards[0].there);
  EXPECT_EQ(judged.value_claimed, 10);
  EXPECT_EQ(judged.value_there, 0);
}

TEST(Judge, LetsWhatLiesOutsideByNoMoreThanTheToleranceCount) {
  const SawPlan plan = plan_of(board(-77, -60, 160, 120));
  EXPECT_FALSE(judge(plan, cylinder(), kSame, 2.3).boards[0].there);
  EXPECT_TRUE(judge(plan, cylinder(), kSame, 2.5).boards[0].there);
}

TEST(Judge, LetsAnArrisMissTheCornerThatTheProductsWaneAllows) {
  // 184 by 120: (92, 60) lies 9.8 mm outside; a quarter of the thickness off each arris leaves (92,
  // 30), inside, and a tenth of the width off leaves (73.6, 60), inside.
  const Board b = board(-92, -60, 184, 120);
  EXPECT_FALSE(judge(plan_of(b), cylinder(), kSame).boards[0].there);
  EXPECT_FALSE(judge(plan_of(b, 0.05), cylinder(), kSame).boards[0].there);
  EXPECT_TRUE(judge(plan_of(b, 0.25), cylinder(), kSame).boards[0].there);
}

TEST(Judge, TakesASlabByItsWidthAndItsMeanEdges) {
  // Its faces, 60 mm from the axis, are chords of 160 mm.
  const auto protrusion = [](const Board& slab, double least_width) {
    SawPlan plan = plan_of(slab);
    plan.order.products.front().live_edge = true;
    plan.order.products.front().width = least_width;
    return judge(plan, cylinder(), kSame).boards[0].protrusion;
  };
  EXPECT_NEAR(protrusion(board(-80, -60, 160, 120), 150), 0, 1e-3);
  EXPECT_NEAR(protrusion(board(-80, -60, 160, 120), 167), 7, 1e-3);
  EXPECT_NEAR(protrusion(board(-83, -60, 160, 120), 150), 3, 1e-3);
  EXPECT_NEAR(protrusion(board(-80, -60, 164, 120), 150), 4, 1e-3);
}

TEST(Judge, SeesABoardThatRunsOutOfTheEnd) {
  Board b = board(-20, -20, 40, 40);
  b.corner.x() = 103;
  const JudgedPlan judged = judge(plan_of(b), cylinder(), kSame);
  EXPECT_NEAR(judged.boards[0].protrusion, 3, 1e-9);
  EXPECT_FALSE(judged.boards[0].there);
}

TEST(Judge, SeesAHollowBetweenTheEndsOfABoard) {
  InventedLog log = cylinder();
  log.burls.push_back({500, 0.0, -45, 12, 25});
  const JudgedPlan judged = judge(plan_of(board(-20, -20, 95, 40)), log, kSame);
  EXPECT_NEAR(judged.boards[0].protrusion, 20, 1.0);
  EXPECT_NEAR(judged.boards[0].worst_point.x(), 500, 5);
}

TEST(Judge, CarriesBoardsOverFromAnotherFrame) {
  // The plan's log frame is turned about the chord and looks from the other end; the scan is in
  // metres.
  Eigen::Matrix4d truth_from_scan = kSame;
  truth_from_scan.topLeftCorner<3, 3>() *= 1000;
  Eigen::Affine3d plan_from_truth = Eigen::Translation3d(1000, 0, 0) *
                                    Eigen::AngleAxisd(std::acos(-1.0), Eigen::Vector3d::UnitZ()) *
                                    Eigen::AngleAxisd(0.3, Eigen::Vector3d::UnitX());
  SawPlan plan = plan_of(board(-77, -60, 160, 120));
  plan.scan_to_log = plan_from_truth.matrix() * truth_from_scan;
  const JudgedPlan judged = judge(plan, cylinder(), truth_from_scan);
  EXPECT_NEAR(judged.boards[0].protrusion, std::hypot(83, 60) - 100, 1e-6);
}

TEST(Judge, SaysTheSameOfTheSolidAndOfItsShape) {
  InventedLog log = cylinder();
  log.sweep = 30;
  log.ovality = 0.06;
  log.flutes = 3;
  log.flute_depth = 0.1;
  const LogShape shape = true_shape(log, kSame);
  for (double y : {-95.0, -80.0, -60.0}) {
    const SawPlan plan = plan_of(board(y, -60, 140, 100));
    const JudgedPlan exact = judge(plan, log, kSame), sampled = judge(plan, shape);
    EXPECT_NEAR(exact.boards[0].protrusion, sampled.boards[0].protrusion, 0.1) << y;
  }
}

}  // namespace
}  // namespace kerfwright
