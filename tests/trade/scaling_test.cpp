#include "kerfwright/trade/scaling.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <random>

namespace kerfwright {
namespace {

constexpr double inches_per_foot = 12;

// The published log: 10 in and 12 in ends, 16 ft (University of Missouri, Cubic Log Volume).
const double small_ft2 = circle_area(10 / inches_per_foot);
const double mid_ft2 = circle_area(11 / inches_per_foot);
const double large_ft2 = circle_area(12 / inches_per_foot);

TEST(LogVolume, IsThePublishedExampleInCubicFeet) {
  EXPECT_NEAR(smalian_volume(small_ft2, large_ft2, 16), 10.647, 0.001);
  EXPECT_NEAR(cone_frustum_volume(small_ft2, large_ft2, 16), 10.588, 0.001);
  EXPECT_NEAR(neiloid_frustum_volume(small_ft2, large_ft2, 16), 10.568, 0.001);
}

TEST(LogVolume, IsThePublishedExampleInCubicMetres) {
  // Same page: 25 cm and 29 cm ends, 5 m.
  const double small = circle_area(0.25), large = circle_area(0.29);
  EXPECT_NEAR(smalian_volume(small, large, 5), 0.287848, 1e-6);
  EXPECT_NEAR(cone_frustum_volume(small, large, 5), 0.286801, 1e-6);
  EXPECT_NEAR(neiloid_frustum_volume(small, large, 5), 0.286452, 1e-6);
}

TEST(LogVolume, HuberAndNewtonOfAStraightSidedLogAreAsWorkedOut) {
  // No published example of the two was found; these are computed for a mid diameter that is the
  // mean of the ends.
  EXPECT_NEAR(huber_volume(mid_ft2, 16), 10.559, 0.001);
  EXPECT_NEAR(newton_volume(small_ft2, mid_ft2, large_ft2, 16), 10.588, 0.001);
  EXPECT_NEAR(huber_volume(circle_area(0.27), 5), 0.286278, 1e-6);
  EXPECT_NEAR(newton_volume(circle_area(0.25), circle_area(0.27), circle_area(0.29), 5), 0.286801,
              1e-6);
}

TEST(LogVolume, NewtonIsAThirdOfSmalianAndTwoThirdsOfHuber) {
  std::mt19937 random(20);  // any log: the identity is algebra
  std::uniform_real_distribution<double> area(0.001, 2), length(0.3, 12);
  for (int i = 0; i < 1000; ++i) {
    const double s = area(random), m = area(random), l = area(random), x = length(random);
    EXPECT_NEAR(newton_volume(s, m, l, x), (smalian_volume(s, l, x) + 2 * huber_volume(m, x)) / 3,
                1e-9);
  }
}

/// Volume of a solid of revolution with radius(x) ~ x^power from x = a to b, by calculus, and its
/// areas.
struct Frustum {
  double small, mid, large, length, volume;
};

Frustum frustum(double power) {
  const double a = 3, b = 5, pi = std::acos(-1.0);
  const auto area = [&](double x) { return pi * std::pow(x, 2 * power); };
  const double degree = 2 * power + 1;
  return {area(a), area((a + b) / 2), area(b), b - a,
          pi * (std::pow(b, degree) - std::pow(a, degree)) / degree};
}

TEST(LogVolume, EachFormulaIsExactForTheSolidsItIsMadeFor) {
  const Frustum cylinder = frustum(0), paraboloid = frustum(0.5), cone = frustum(1),
                neiloid = frustum(1.5);
  for (const Frustum& f : {cylinder, paraboloid}) {
    EXPECT_NEAR(huber_volume(f.mid, f.length) / f.volume, 1, 1e-12);
    EXPECT_NEAR(smalian_volume(f.small, f.large, f.length) / f.volume, 1, 1e-12);
  }
  for (const Frustum& f : {cylinder, paraboloid, cone, neiloid}) {
    EXPECT_NEAR(newton_volume(f.small, f.mid, f.large, f.length) / f.volume, 1, 1e-12);
  }
  EXPECT_NEAR(cone_frustum_volume(cone.small, cone.large, cone.length) / cone.volume, 1, 1e-12);
  EXPECT_NEAR(neiloid_frustum_volume(neiloid.small, neiloid.large, neiloid.length) / neiloid.volume,
              1, 1e-12);
}

TEST(LogVolume, OnAConeOrNeiloidSmalianErrsTwiceAsFarAsHuberTheOtherWay) {
  for (const double power : {1.0, 1.5}) {
    const Frustum f = frustum(power);
    const double smalian = smalian_volume(f.small, f.large, f.length) - f.volume;
    const double huber = huber_volume(f.mid, f.length) - f.volume;
    EXPECT_GT(smalian, 0);
    EXPECT_NEAR(smalian, -2 * huber, 1e-9 * f.volume);
  }
}

TEST(Units, AreThoseOfTheDefinitions) {
  EXPECT_NEAR(m3_per_cubic_foot, 0.028316847, 1e-9);
  EXPECT_NEAR(1 / m3_per_cubic_foot, 35.3147, 1e-4);
  EXPECT_NEAR(m3_per_board_foot, 0.002359737, 1e-9);
  EXPECT_NEAR(1 / m3_per_board_foot, 423.776, 0.001);
  EXPECT_NEAR(144 * std::pow(mm_per_inch, 3), 1e9 * m3_per_board_foot, 1e-6);
  EXPECT_DOUBLE_EQ(mm_per_foot, 12 * mm_per_inch);
}

TEST(ScalingDiameter, TheTenInchClassRunsFromNineAndAHalfToJustUnderTenAndAHalf) {
  // Idaho Board of Scaling Practices.
  EXPECT_EQ(scaling_diameter(9.49), 9);
  EXPECT_EQ(scaling_diameter(9.5), 10);
  EXPECT_EQ(scaling_diameter(10.49), 10);
  EXPECT_EQ(scaling_diameter(10.5), 11);
}

TEST(BoardFeet, AreThePublishedExamples) {
  // CCC Forestry, US Forest Service, chapter VIII.
  EXPECT_EQ(board_feet(1, 12, 10), 10);
  EXPECT_EQ(board_feet(1, 8, 18), 12);
  EXPECT_EQ(board_feet(2, 6, 8), 8);
  EXPECT_EQ(board_feet(0.5, 12, 10), 10);    // under 1 in counts as 1 in
  EXPECT_EQ(board_feet(7, 9, 8.5), 44.625);  // a tie (computed)
}

TEST(Recovery, OneHundredAndFiftyPercentIsAnOverrunOfFifty) {
  // USDA Forest Service, Lumber recovery from ponderosa pine in the Black Hills.
  EXPECT_EQ(recovery_percent(150, 100), 150);
  EXPECT_EQ(overrun_percent(150, 100), 50);
  EXPECT_EQ(overrun_percent(80, 100), -20);
}

TEST(Recovery, ALogSawnWithoutAnyLossHasTwelveBoardFeetInTheCubicFoot) {
  EXPECT_NEAR(lumber_recovery_factor(1 / m3_per_board_foot, 1 / m3_per_cubic_foot), 12, 1e-12);
}

TEST(Sweep, CostsTheShareOfTheRule) {
  // From memory of Grosenbaugh 1952: 4 in on 14 in and 16 ft is 14.3 %; International 135 bf gives
  // 115.7.
  const double share = sweep_deduction(4, 14, 16);
  EXPECT_NEAR(100 * share, 14.3, 0.1);
  EXPECT_NEAR(international_quarter_table(14, 16) * (1 - share), 115.7, 0.05);
}

TEST(Sweep, UpToTheAllowanceCostsNothing) {
  // 2 in on 16 ft (also USDA Forest Service NE-172), 1 in on 8 ft, in proportion between.
  EXPECT_EQ(sweep_deduction(2, 14, 16), 0);
  EXPECT_EQ(sweep_deduction(0.5, 14, 16), 0);
  EXPECT_EQ(sweep_deduction(1, 14, 8), 0);
  EXPECT_NEAR(sweep_deduction(1.5 + 1.4, 14, 12), 0.1, 1e-12);
}

TEST(Sweep, NeverCostsMoreThanTheLog) { EXPECT_EQ(sweep_deduction(40, 10, 16), 1); }

TEST(Crook, CostsItsDepartureOverItsPartOfTheLength) {
  // From memory of Grosenbaugh 1952: (3 / 12) x (4 / 16).
  EXPECT_NEAR(crook_deduction(3, 12, 4, 16), 0.0625, 1e-12);
  EXPECT_EQ(crook_deduction(30, 12, 16, 16), 1);
}

TEST(Hardwood, SurfaceMeasuresAreThoseOfThePublishedExamples) {
  EXPECT_EQ(surface_measure(6.4375, 10.75), 5);  // extension article on hardwood grading
  EXPECT_EQ(surface_measure(7, 8), 5);           // grading tutorial
  EXPECT_EQ(surface_measure(8, 8), 5);
}

TEST(Hardwood, CuttingUnitsOfAMeasureOfFiveAreThoseOfTheChart) {
  // NHLA grade chart as reprinted, worked for a surface measure of 5.
  const CuttingUnits fas = cutting_units(HardwoodGrade::fas, 5);
  EXPECT_EQ(fas.cuttings, 1);
  EXPECT_EQ(fas.units, 50);
  EXPECT_EQ(fas.extra_cuttings, 0);  // only from 6 to 15
  const CuttingUnits common = cutting_units(HardwoodGrade::common_1, 5);
  EXPECT_EQ(common.cuttings, 2);
  EXPECT_EQ(common.units, 40);
  EXPECT_EQ(common.extra_cuttings, 3);
  EXPECT_EQ(common.extra_units, 45);
  const CuttingUnits second = cutting_units(HardwoodGrade::common_2a, 5);
  EXPECT_EQ(second.cuttings, 2);
  EXPECT_EQ(second.units, 30);
  EXPECT_EQ(second.extra_cuttings, 3);
  EXPECT_EQ(second.extra_units, 40);
}

TEST(Hardwood, AClearBoardOfEightInchesByEightFeetIsOfTheBestGrade) {
  EXPECT_TRUE(large_enough(HardwoodGrade::fas, 8, 8));
  EXPECT_FALSE(large_enough(HardwoodGrade::fas, 5.5, 8));  // least board 6 in x 8 ft
  EXPECT_TRUE(large_enough(HardwoodGrade::common_1, 5.5, 8));
  EXPECT_EQ(cutting_units(HardwoodGrade::fas, 100).cuttings, 4);
}

}  // namespace
}  // namespace kerfwright
