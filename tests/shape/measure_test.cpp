#include "kerfwright/shape/measure.hpp"

#include <gtest/gtest.h>

#include "known_solids.hpp"

namespace kerfwright {
namespace {

using solids::sampled;
using solids::Solid;

/// A log that bows by `sweep` in the middle towards `way`.
LogShape bowed(double sweep, const Eigen::Vector2d& way) {
  Solid solid;
  solid.axis = [=](double x) -> Eigen::Vector2d {
    const double u = x / 3000.0;
    return sweep * 4.0 * u * (1.0 - u) * way;
  };
  return sampled(solid, 25.0);
}

TEST(Measure, SweepIsTheGreatestDistanceOfTheAxisFromTheChord) {
  const LogMeasures m = measure(bowed(60.0, {0.6, 0.8}));
  EXPECT_NEAR(m.sweep, 60.0, 1e-9);
  EXPECT_NEAR(m.sweep_per_m, 20.0, 1e-9);
  EXPECT_DOUBLE_EQ(m.sweep_x, 1500.0);
}

TEST(Measure, ClockIsReadByAPersonAtTheButtWhoHasPlusYOnTheLeft) {
  EXPECT_NEAR(measure(bowed(50.0, {0, 1})).sweep_clock, 12.0, 1e-9);
  EXPECT_NEAR(measure(bowed(50.0, {-1, 0})).sweep_clock, 3.0, 1e-9);
  EXPECT_NEAR(measure(bowed(50.0, {0, -1})).sweep_clock, 6.0, 1e-9);
  EXPECT_NEAR(measure(bowed(50.0, {1, 0})).sweep_clock, 9.0, 1e-9);
}

TEST(Measure, TaperIsLossOfDiameterPerMetre) {
  Solid frustum;
  frustum.radius = [](double x, double) { return 200.0 - 0.01 * x; };
  const LogMeasures m = measure(sampled(frustum, 25.0));
  const double share =
      128.0 / std::numbers::pi * std::sin(std::numbers::pi / 128.0);  // girth of a polygon
  EXPECT_NEAR(m.taper, 20.0 * share, 1e-3);
  EXPECT_NEAR(m.butt.mean_over_bark, 400.0 * share, 1e-3);
  EXPECT_NEAR(m.top.mean_over_bark, 340.0 * share, 1e-3);
  EXPECT_NEAR(m.middle.mean_over_bark, 370.0 * share, 1e-3);
}

TEST(Measure, SmallestDiameterOfAnEllipseIsItsShortAxis) {
  Solid ellipse;
  const double a = 200.0, b = 150.0;
  ellipse.radius = [=](double,
                       double angle) {  // turned by 25 degrees, so that no sample hits an axis
    const double t = angle - 0.4363;
    return a * b / std::sqrt(std::pow(b * std::cos(t), 2) + std::pow(a * std::sin(t), 2));
  };
  const LogMeasures m = measure(sampled(ellipse, 100.0, 512));
  EXPECT_NEAR(m.middle.smallest_over_bark, 300.0, 0.05);
  // Girth of an ellipse over pi by Ramanujan's second formula (Modular equations and approximations
  // to pi, 1914), right to 1e-9 here.
  const double h = std::pow((a - b) / (a + b), 2);
  EXPECT_NEAR(m.middle.mean_over_bark,
              (a + b) * (1.0 + 3.0 * h / (10.0 + std::sqrt(4.0 - 3.0 * h))), 0.05);
  EXPECT_NEAR(m.ovality, 0.25, 2e-4);
}

TEST(Measure, SmallestDiameterOfAHollowSectionIsBetweenJawsNotBetweenHollows) {
  Solid clover;
  clover.radius = [](double, double angle) { return 150.0 + 40.0 * std::cos(4.0 * angle); };
  // The jaws lie across the lobes: the hull is an octagon-like outline 2 x 190 mm across the tips,
  // least where they lie at 45 degrees, on the bitangents.
  const double smallest = measure(sampled(clover, 100.0, 512)).middle.smallest_over_bark;
  EXPECT_GT(smallest, 2.0 * 190.0 * std::cos(std::numbers::pi / 4.0));
  EXPECT_LT(smallest, 2.0 * 190.0);
}

TEST(Measure, BarkComesOffTwiceFromADiameter) {
  LogShape shape = sampled({}, 25.0);
  shape.bark = 8.0;
  const LogMeasures m = measure(shape);
  EXPECT_NEAR(m.butt.mean_over_bark - m.butt.mean_under_bark, 16.0, 0.01);
  EXPECT_LT(m.volume_under_bark, m.volume_over_bark);
}

TEST(Measure, SeenShareCountsSurface) {
  LogShape shape = sampled({}, 25.0);
  for (auto& row : shape.seen) {
    for (std::size_t j = 0; j < 32; ++j) row[j] = 0;
  }
  EXPECT_NEAR(measure(shape).seen_share, 0.75, 1e-6);
}

TEST(Describe, GivesEachMeasureWithItsUnitAndTheClockToTheHalfHour) {
  LogShape shape = bowed(60.0, {0.5, -0.8660254});
  shape.bark = 7.0;
  const std::string text = describe(measure(shape));
  EXPECT_NE(text.find("Length    3000 mm"), std::string::npos) << text;
  EXPECT_NE(text.find("Sweep     60 mm, 20.0 mm per m"), std::string::npos) << text;
  EXPECT_NE(text.find("to 7:00 o'clock"), std::string::npos) << text;
  EXPECT_NE(text.find("m3 over bark"), std::string::npos) << text;
}

}  // namespace
}  // namespace kerfwright
