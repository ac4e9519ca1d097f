#include "invented/invented_log.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <numbers>

#include "invented/dice.hpp"
#include "invented/recipes.hpp"
#include "invented/truth.hpp"
#include "kerfwright/error.hpp"
#include "kerfwright/shape/section.hpp"

namespace kerfwright {
namespace {

constexpr double kPi = std::numbers::pi;

InventedLog cylinder(double radius, double length) {
  InventedLog log;
  log.length = length;
  log.butt_radius = log.top_radius = radius;
  return log;
}

TEST(Dice, DrawsNormalsWithMeanNoughtAndVarianceOne) {
  Dice dice(7);
  double sum = 0, squares = 0, fourth = 0;
  constexpr int n = 200000;
  for (int i = 0; i < n; ++i) {
    const double v = dice.normal();
    sum += v;
    squares += v * v;
    fourth += v * v * v * v;
  }
  // Standard errors: 1/sqrt(n), sqrt(2/n), sqrt(96/n); five of each.
  EXPECT_NEAR(sum / n, 0.0, 5 / std::sqrt(n));
  EXPECT_NEAR(squares / n, 1.0, 5 * std::sqrt(2.0 / n));
  EXPECT_NEAR(fourth / n, 3.0, 5 * std::sqrt(96.0 / n));
}

TEST(InventedVolume, OfACylinderIsPiRadiusSquaredLength) {
  InventedLog log = cylinder(150, 3000);
  log.bark = 10;
  EXPECT_NEAR(volume_m3(log, false), kPi * 0.150 * 0.150 * 3.0, 1e-12);
  EXPECT_NEAR(volume_m3(log, true), kPi * 0.140 * 0.140 * 3.0, 1e-12);
}

TEST(InventedVolume, OfAFrustumIsWhatPappusSays) {
  InventedLog log = cylinder(180, 2500);
  log.top_radius = 120;
  // Pappus: the area of the trapezium under the profile times the way of its centroid.
  const double R = 0.180, r = 0.120, L = 2.5;
  const double area = (R + r) / 2 * L;
  const double centroid = (R * R + R * r + r * r) / (3 * (R + r));
  EXPECT_NEAR(volume_m3(log, false), 2 * kPi * centroid * area, 1e-8);
}

TEST(InventedVolume, OfABentCylinderIsThatOfTheStraightOneAsCavalieriSays) {
  InventedLog log = cylinder(100, 2000);
  log.sweep = 120;
  log.sweep_direction = 1.0;
  log.crook = 40;
  EXPECT_NEAR(volume_m3(log, false), kPi * 0.1 * 0.1 * 2.0, 1e-12);
}

TEST(InventedVolume, OfAnOvalFlaredLogIsWhatCalculusSays) {
  InventedLog log = cylinder(150, 3000);
  log.flare = 30;
  log.flare_reach = 200;
  log.ovality = 0.1;
  const double e = 0.1 / 1.9, q = 200, L = 3000;
  const double squared = 150.0 * 150.0 * L + 2 * 150.0 * 30 * q * (1 - std::exp(-L / q)) +
                         30.0 * 30.0 * q / 2 * (1 - std::exp(-2 * L / q));
  EXPECT_NEAR(volume_m3(log, false), kPi * (1 + e * e / 2) * squared * 1e-9, 1e-7);
}

TEST(InventedLog, HasItsChordOnTheXAxisAndItsSweepInTheMiddle) {
  InventedLog log = cylinder(100, 2000);
  log.sweep = 50;
  log.sweep_direction = kPi / 2;
  log.crook = 20;
  EXPECT_NEAR(log.axis(0).norm(), 0, 1e-12);
  EXPECT_NEAR(log.axis(2000).norm(), 0, 1e-9);
  EXPECT_NEAR((log.axis(1000) - Eigen::Vector2d(0, 50)).norm(), 0, 1e-9);
}

TEST(InventedLog, IsAsOvalAsAskedFor) {
  InventedLog log = cylinder(100, 2000);
  log.ovality = 0.12;
  log.ovality_direction = 0.4;
  const double largest = log.radius(500, 0.4) + log.radius(500, 0.4 + kPi);
  const double smallest = log.radius(500, 0.4 + kPi / 2) + log.radius(500, 0.4 - kPi / 2);
  EXPECT_NEAR(1 - smallest / largest, 0.12, 1e-12);
}

TEST(InventedLog, HasNormalsThatStandOnItsSurface) {
  const InventedLog log = recipe("fluted-oak");
  Dice dice(3);
  for (int i = 0; i < 500; ++i) {
    const double x = dice.uniform(0, log.length), theta = dice.uniform(0, 2 * kPi);
    const Eigen::Vector3d normal = log.normal(x, theta), at = log.surface(x, theta);
    ASSERT_NEAR(normal.norm(), 1, 1e-12);
    ASSERT_LT(depth_in(log, at + 5.0 * normal, false), 0);
    ASSERT_GT(depth_in(log, at - 5.0 * normal, false), 0);
  }
}

TEST(InventedLog, IsCutByItsObliqueFaces) {
  InventedLog log = cylinder(100, 1000);
  log.top_slope = {0.1, 0};
  EXPECT_NEAR(depth_in(log, {1005, 90, 0}, false), 10, 1e-9);
  EXPECT_NEAR(depth_in(log, {995, -90, 0}, false), -4, 1e-9);
}

TEST(RandomLog, IsTheSameForTheSameSeedAndAnotherForAnother) {
  const InventedLog a = random_log(5), b = random_log(5), c = random_log(6);
  EXPECT_EQ(a.radius(700, 1.0), b.radius(700, 1.0));
  EXPECT_EQ(a.length, b.length);
  EXPECT_NE(a.length, c.length);
}

TEST(RandomLog, KeepsToItsRangesAndStaysALog) {
  const LogRanges ranges;
  for (std::uint64_t seed = 1; seed <= 200; ++seed) {
    const InventedLog log = random_log(seed);
    ASSERT_GE(log.length, ranges.length.low);
    ASSERT_LE(log.length, ranges.length.high);
    ASSERT_GE(log.butt_radius, log.top_radius);
    for (int i = 0; i <= 40; ++i)
      for (int j = 0; j < 64; ++j)
        ASSERT_GT(log.radius_under_bark(log.length * i / 40, 2 * kPi * j / 64), 25)
            << "seed " << seed;
  }
}

TEST(Recipe, ThatIsNotKnownIsAnErrorThatNamesThoseThatAre) {
  try {
    recipe("straight-fig");
    FAIL();
  } catch (const UserError& error) {
    EXPECT_EQ(error.fault(), Fault::usage);
    EXPECT_NE(std::string(error.what()).find("short-plum"), std::string::npos);
  }
}

TEST(TrueShape, IsTheSolidToATenthOfAMillimetreStubsApart) {
  for (const std::string& name : recipe_names()) {
    InventedLog log = recipe(name);
    log.stubs.clear();  // their steep sides are cut straight between samples
    const LogShape shape = true_shape(log, Eigen::Matrix4d::Identity());
    EXPECT_NEAR(solid_volume_m3(shape, Bark::on), volume_m3(log, false), 1e-3 * volume_m3(log, false))
        << name;
    Dice dice(11);
    for (int i = 0; i < 400; ++i) {
      const double x = dice.uniform(0, log.length), theta = dice.uniform(0, 2 * kPi);
      ASSERT_NEAR(depth_inside(shape, log.surface(x, theta), Bark::on), 0, 0.1) << name << " at " << x;
    }
  }
}

}  // namespace
}  // namespace kerfwright
