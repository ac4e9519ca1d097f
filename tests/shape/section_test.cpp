#include "kerfwright/shape/section.hpp"

#include <gtest/gtest.h>

#include "known_solids.hpp"

namespace kerfwright {
namespace {

using solids::sampled;
using solids::Solid;

/// Area of a regular polygon of `n` corners in a circle over that of the circle: what a shape of n
/// angles loses, by its definition.
double polygon_share(int n) {
  const double step = 2.0 * std::numbers::pi / n;
  return std::sin(step) / step;
}

TEST(SolidVolume, OfACylinderIsAreaTimesLength) {
  const double exact = std::numbers::pi * 0.15 * 0.15 * 3.0 * polygon_share(128);
  EXPECT_NEAR(solid_volume_m3(sampled({}, 25.0), Bark::on), exact, 1e-9 * exact + 1e-7);
}

TEST(SolidVolume, OfAConeFrustumIsThePrismoidFormula) {
  Solid frustum;
  frustum.radius = [](double x, double) { return 200.0 - 50.0 * x / 3000.0; };
  const double exact =
      std::numbers::pi * 3.0 / 3.0 * (0.2 * 0.2 + 0.2 * 0.15 + 0.15 * 0.15) * polygon_share(128);
  EXPECT_NEAR(solid_volume_m3(sampled(frustum, 700.0), Bark::on), exact, 1e-6 * exact);
}

TEST(SolidVolume, OfABentCylinderIsThatOfTheStraightOne) {
  // Sections square to the chord are shifted, not turned: Cavalieri's principle.
  Solid bent;
  bent.axis = [](double x) {
    return Eigen::Vector2d(120.0 * std::sin(std::numbers::pi * x / 3000.0), 0.0);
  };
  EXPECT_NEAR(solid_volume_m3(sampled(bent, 25.0), Bark::on),
              solid_volume_m3(sampled({}, 25.0), Bark::on), 1e-12);
}

TEST(SolidVolume, UnderBarkTakesTheBarkOffAllRound) {
  const double exact = std::numbers::pi * 0.14 * 0.14 * 3.0 * polygon_share(128);
  EXPECT_NEAR(solid_volume_m3(sampled({}, 25.0), Bark::on, 10.0), exact, 1e-7);
}

TEST(SectionOutline, BetweenStationsLiesOnTheStraightLineFromStationToStation) {
  Solid frustum;
  frustum.radius = [](double x, double) { return 200.0 - 0.01 * x; };
  const LogShape shape = sampled(frustum, 100.0);
  const Outline outline = section_outline_at(shape, 1030.0, Bark::on, 5.0);
  for (const auto& corner : outline) EXPECT_NEAR(corner.norm(), 200.0 - 10.3 - 5.0, 1e-4);
}

TEST(DepthInside, IsTheWayAlongTheRayToTheBark) {
  const LogShape shape = sampled({}, 25.0);
  EXPECT_NEAR(depth_inside(shape, {1500, 100, 0}, Bark::on), 50.0, 1e-4);
  EXPECT_NEAR(depth_inside(shape, {1500, 0, -160}, Bark::on), -10.0, 1e-4);
  EXPECT_NEAR(depth_inside(shape, {1500, 0, -100}, Bark::on, 20.0), 30.0, 1e-4);
  EXPECT_NEAR(depth_inside(shape, {1500, 0, 0}, Bark::on), 150.0, 0.1);
}

TEST(DepthInside, BeyondAnEndIsMinusTheDistanceToIt) {
  const LogShape shape = sampled({}, 25.0);
  EXPECT_DOUBLE_EQ(depth_inside(shape, {-7, 0, 0}, Bark::on), -7.0);
  EXPECT_DOUBLE_EQ(depth_inside(shape, {3012, 0, 0}, Bark::on), -12.0);
}

}  // namespace
}  // namespace kerfwright
