// Scans of solids that are known by formula: the fitted shape must be the solid again. The bounds
// are what the fit is meant to reach, not what it happened to reach.

#include "kerfwright/shape/fit_shape.hpp"

#include <gtest/gtest.h>
#include <omp.h>

#include <Eigen/Dense>
#include <algorithm>

#include "kerfwright/error.hpp"
#include "kerfwright/shape/measure.hpp"
#include "kerfwright/shape/section.hpp"
#include "known_solids.hpp"

namespace kerfwright {
namespace {

using solids::scanned;
using solids::Solid;

struct Errors {
  double square = 0, sum = 0, within = 0, count = 0;

  void add(double error, double sigma) {
    square += error * error;
    sum += error;
    within += std::abs(error) <= 2.0 * sigma ? 1.0 : 0.0;
    count += 1.0;
  }
  double rmse() const { return std::sqrt(square / count); }
  double bias() const { return sum / count; }
  double share_within() const { return within / count; }
};

struct SeenAndInferred {
  Errors seen, inferred;
};

/// How far the solid reaches from `from` along `ray`, by bisection.
double reach_of(const Solid& solid, const Eigen::Vector3d& from, const Eigen::Vector3d& ray) {
  double low = 0, high = 1000;
  for (int i = 0; i < 50; ++i) {
    const double middle = 0.5 * (low + high);
    const Eigen::Vector3d p = from + middle * ray;
    const Eigen::Vector2d arm = p.tail<2>() - solid.axis(p.x());
    const bool inside = arm.norm() < solid.radius(p.x(), std::atan2(arm.y(), arm.x()));
    (inside ? low : high) = middle;
  }
  return low;
}

SeenAndInferred compare(const LogShape& shape, const Solid& solid) {
  SeenAndInferred errors;
  const Eigen::Matrix4d back = shape.scan_to_log.inverse();
  for (std::size_t i = 0; i < shape.stations.size(); ++i) {
    const Eigen::Vector4d centre(shape.stations[i], shape.axis[i].x(), shape.axis[i].y(), 1.0);
    for (std::size_t j = 0; j < shape.radius[i].size(); ++j) {
      const double angle = 2.0 * std::numbers::pi * static_cast<double>(j) / shape.angles;
      const Eigen::Vector3d ray =
          back.topLeftCorner<3, 3>() * Eigen::Vector3d(0, std::cos(angle), std::sin(angle));
      const double error =
          static_cast<double>(shape.radius[i][j]) - reach_of(solid, (back * centre).head<3>(), ray);
      auto& part = shape.seen[i][j] != 0 ? errors.seen : errors.inferred;
      part.add(error, static_cast<double>(shape.sigma[i][j]));
    }
  }
  return errors;
}

/// Tapered, bowed, oval: 3 m with 55 mm of sweep.
Solid bowed_log() {
  Solid solid;
  solid.axis = [](double x) -> Eigen::Vector2d {
    const double u = x / 3000.0;
    return 55.0 * 4.0 * u * (1.0 - u) * Eigen::Vector2d(-0.8, 0.6);
  };
  solid.radius = [](double x, double angle) {
    return (165.0 - 0.008 * x) * (1.0 + 0.03 * std::cos(2.0 * (angle - 0.7)));
  };
  return solid;
}

double volume_of(const Solid& solid) {
  return solid_volume_m3(solids::sampled(solid, 5.0, 512), Bark::on);
}

TEST(FitShape, FindsAStraightCylinderWithoutNoiseToATenthOfAMillimetre) {
  const Solid cylinder;
  const LogShape shape = fit_shape(scanned(cylinder, 60000, 0.0, 0.0), {});
  const auto errors = compare(shape, cylinder);
  EXPECT_LT(errors.seen.rmse(), 0.1);
  EXPECT_NEAR(shape.length(), 3000.0, 0.5);
  EXPECT_LT(measure(shape).sweep, 0.3);
}

TEST(FitShape, FindsABowedOvalLogSeenAllRound) {
  const Solid solid = bowed_log();
  const LogShape shape = fit_shape(scanned(solid, 250000, 4.0, 0.0), {});
  const auto errors = compare(shape, solid);
  EXPECT_LT(errors.seen.rmse(), 1.0);
  EXPECT_LT(std::abs(errors.seen.bias()), 0.2);
  EXPECT_NEAR(shape.length(), 3000.0, 3.0);
  const LogMeasures m = measure(shape);
  EXPECT_NEAR(m.volume_over_bark / volume_of(solid), 1.0, 0.003);
  EXPECT_NEAR(m.sweep, 55.0, 2.0);
  EXPECT_NEAR(m.sweep_clock, 1.8, 0.1);  // towards (-y, +z) at 4 to 3: 53 degrees past 12
  EXPECT_GT(m.seen_share, 0.99);
}

TEST(FitShape, InfersTheThirdOfTheGirthThatNobodySaw) {
  const Solid solid = bowed_log();
  const LogShape shape = fit_shape(scanned(solid, 250000, 4.0, 1.0 / 3.0), {});
  const auto errors = compare(shape, solid);
  EXPECT_LT(errors.seen.rmse(), 1.0);
  EXPECT_LT(std::abs(errors.seen.bias()), 0.2);
  EXPECT_LT(errors.inferred.rmse(), 5.0);
  EXPECT_LT(std::abs(errors.inferred.bias()), 1.5);
  EXPECT_NEAR(measure(shape).volume_over_bark / volume_of(solid), 1.0, 0.01);
  EXPECT_NEAR(measure(shape).seen_share, 2.0 / 3.0, 0.03);
}

TEST(FitShape, SaysHonestlyHowSureItIs) {
  // One log is one draw: the bounds are loose. The figures over many logs come from
  // tools/fit_report.
  const Solid solid = bowed_log();
  const auto errors = compare(fit_shape(scanned(solid, 60000, 6.0, 0.3), {}), solid);
  EXPECT_GT(errors.seen.share_within(), 0.88);
  EXPECT_GT(errors.inferred.share_within(), 0.80);
}

TEST(FitShape, KeepsABurlWhereItWasSeen) {
  Solid solid = bowed_log();
  solid.radius = [](double x, double angle) {
    const double along = (x - 1300.0) / 90.0,
                 round = std::remainder(angle - 1.4, 2.0 * std::numbers::pi) / 0.5;
    return 150.0 + 60.0 * std::exp(-0.5 * (along * along + round * round));
  };
  const LogShape shape = fit_shape(scanned(solid, 150000, 4.0, 0.3), {});
  EXPECT_LT(compare(shape, solid).seen.rmse(), 1.0);
  EXPECT_NEAR(measure(shape).sweep, 55.0, 4.0);  // and it does not bend the axis
}

TEST(FitShape, LeavesOutWhatARestLeftOfItselfOnTheHiddenSide) {
  const Solid solid = bowed_log();
  Scan scan = scanned(solid, 120000, 4.0, 0.35);
  const double before = compare(fit_shape(scan, {}), solid).inferred.rmse();
  for (int i = 0; i < 400; ++i) {  // 120 mm long, 60 mm wide, 15 mm off the bark
    const double x = 700.0 + 120.0 * (i % 20) / 20.0, angle = -1.57 + 0.4 * ((i / 20) / 20.0 - 0.5);
    const Eigen::Vector2d yz =
        solid.axis(x) + (solid.radius(x, angle) + 15.0) * solids::direction(angle);
    scan.points.push_back(Eigen::Vector3d(x, yz.x(), yz.y()).cast<float>());
  }
  EXPECT_LT(compare(fit_shape(scan, {}), solid).inferred.rmse(), before + 0.5);
}

TEST(FitShape, KnowsTheHiddenSideBetterNearAnEndWhoseFaceWasSeen) {
  // Oval with the long axis upright: from above, nearly a circle about a lower centre.
  Solid solid;
  solid.radius = [](double, double angle) { return 150.0 * (1.0 - 0.05 * std::cos(2.0 * angle)); };
  const LogShape shape = fit_shape(scanned(solid, 120000, 4.0, 1.0 / 3.0), {});
  const std::size_t below = 96;  // of 128 angles: straight down
  EXPECT_EQ(shape.seen.front()[below], 0);
  EXPECT_NEAR(shape.radius.front()[below], 157.5, 3.0);
  EXPECT_LT(shape.sigma.front()[below], shape.sigma[shape.sigma.size() / 2][below]);
}

TEST(FitShape, SaysWhatItDidNotSee) {
  Scan scan = scanned(bowed_log(), 60000, 4.0, 0.65);
  const auto mentions = [&](const std::string& words) {
    const auto notes = fit_shape(scan, {}).notes;
    return std::any_of(notes.begin(), notes.end(), [&](const std::string& note) {
      return note.find(words) != std::string::npos;
    });
  };
  EXPECT_TRUE(mentions("of the surface was seen; scan again the side from "));
  EXPECT_FALSE(mentions("which way is up") || mentions("Which way is up"));
  scan.up.reset();
  EXPECT_TRUE(mentions("Which way is up is not known"));
  std::erase_if(scan.points, [](const Eigen::Vector3f& p) { return p.x() > 2800.0F; });
  EXPECT_TRUE(mentions("The face of the top was not seen"));
  EXPECT_TRUE(mentions("Scan that end again from in front of it"));
}

// Of what lies underneath nothing speaks: it may be half a log on its flat side.
TEST(FitShape, SaysThatHalfALogWouldLookAlikeWhereLessThanHalfWasSeen) {
  const auto warns = [](double hidden) {
    const auto notes = fit_shape(scanned(bowed_log(), 60000, 4.0, hidden), {}).notes;
    return std::any_of(notes.begin(), notes.end(), [](const std::string& note) {
      return note.find("half a log that lies on its flat side") != std::string::npos;
    });
  };
  EXPECT_TRUE(warns(0.55));
  EXPECT_FALSE(warns(0.35));
}

TEST(FitShape, LengthIsThatOfTheWholeLogBetweenObliqueEnds) {
  const Solid solid;
  Scan scan = scanned(solid, 80000, 2.0, 0.2);
  for (auto& p : scan.points) {  // shears the ends by 0.1: 30 mm over the diameter
    p.x() += 0.1F * p.y() * (p.x() > 1500.0F ? 1.0F : -1.0F);
  }
  EXPECT_NEAR(fit_shape(scan, {}).length(), 2970.0, 3.0);
}

TEST(FitShape, WithoutScannedFacesTheLogEndsWhereItsBarkStops) {
  const Solid solid = bowed_log();
  Scan scan = scanned(solid, 120000, 4.0, 0.0);
  std::erase_if(scan.points, [&](const Eigen::Vector3f& point) {
    const Eigen::Vector3d p = point.cast<double>();
    return (p.tail<2>() - solid.axis(p.x())).norm() < 120.0;
  });
  EXPECT_NEAR(fit_shape(scan, {}).length(), 3000.0, 8.0);
}

TEST(FitShape, PutsTheThickerEndAtTheOriginAndUpAlongZ) {
  Solid solid = bowed_log();
  const auto radius = solid.radius;
  solid.radius = [radius](double x, double angle) { return radius(3000.0 - x, angle); };
  const LogShape shape = fit_shape(scanned(solid, 60000, 2.0, 0.1), {});
  const Eigen::Vector3d x = shape.scan_to_log.block<1, 3>(0, 0),
                        z = shape.scan_to_log.block<1, 3>(2, 0);
  EXPECT_NEAR(x.x(), -1.0, 1e-3);
  EXPECT_NEAR(z.z(), 1.0, 1e-3);
  EXPECT_NEAR((shape.scan_to_log * Eigen::Vector4d(3000, 0, 0, 1)).head<3>().norm(), 0.0, 3.0);
  EXPECT_NEAR((shape.scan_to_log * Eigen::Vector4d(0, 0, 0, 1))[0], shape.length(), 3.0);
}

TEST(FitShape, FindsALogThatIsHardlyLongerThanThick) {
  Solid block;
  block.length = 420;
  block.radius = [](double x, double angle) {
    return 190.0 - 0.02 * x + 4.0 * std::cos(2.0 * angle);
  };
  const LogShape shape = fit_shape(scanned(block, 60000, 3.0, 0.2), {});
  EXPECT_NEAR(shape.length(), 420.0, 4.0);
  EXPECT_LT(compare(shape, block).seen.rmse(), 1.0);
}

TEST(FitShape, FitsALogMoreThanTwiceAsWideAsHigh) {
  for (const double length : {750.0, 1700.0}) {
    Solid wide;
    wide.length = length;
    wide.radius = [](double x, double angle) {
      return (210.0 - 0.004 * x) /
             std::sqrt(std::pow(std::cos(angle), 2) / 2.3 + std::pow(std::sin(angle), 2) * 2.3);
    };
    const LogShape shape = fit_shape(scanned(wide, 30000, 4.0, 0.2), {});
    EXPECT_NEAR(shape.length(), length, 6.0);
    EXPECT_LT(compare(shape, wide).seen.rmse(), 2.0);
    EXPECT_NEAR(measure(shape).volume_over_bark / volume_of(wide), 1.0, 0.03);
  }
}

TEST(FitShape, TakesAFileInMetresFarFromItsOrigin) {
  const Solid solid = bowed_log();
  Scan scan = scanned(solid, 40000, 3.0, 0.2);
  const Eigen::Vector3d far(512345.25, 5412345.5, 431.125);  // m
  scan.file_to_scan.topLeftCorner<3, 3>() *= 1000.0;
  scan.file_to_scan.topRightCorner<3, 1>() = -1000.0 * far;
  const LogShape shape = fit_shape(scan, {});
  const Eigen::Vector4d butt(far.x(), far.y(), far.z(), 1.0);
  EXPECT_LT((shape.scan_to_log * butt).head<3>().norm(), 4.0);
}

TEST(FitShape, StationsRunInWholeStepsToTheEndAndNumbersAreRounded) {
  const LogShape shape =
      fit_shape(scanned(bowed_log(), 40000, 3.0, 0.2), {.station_step = 40.0, .angles = 96});
  ASSERT_EQ(shape.axis.size(), shape.stations.size());
  EXPECT_EQ(shape.stations.front(), 0.0);
  EXPECT_EQ(shape.axis.front().norm(), 0.0);
  EXPECT_EQ(shape.axis.back().norm(), 0.0);
  for (std::size_t i = 0; i + 1 < shape.stations.size(); ++i)
    EXPECT_EQ(shape.stations[i], 40.0 * static_cast<double>(i));
  ASSERT_EQ(shape.radius.front().size(), 96U);
  for (const float r : shape.radius[3]) {
    EXPECT_NEAR(static_cast<double>(r) * 100.0, std::round(static_cast<double>(r) * 100.0), 2e-3);
  }
}

TEST(FitShape, TakesTheBarkFromItsRatioToTheMeanRadius) {
  const LogShape shape = fit_shape(scanned({}, 40000, 3.0, 0.2), {.bark = {0, 0.08, 0}});
  EXPECT_NEAR(shape.bark, 150.0 * 0.08, 0.1);
}

TEST(FitShape, IsTheSameToTheBitOnOneThreadAndOnTwo) {
  const Scan scan = scanned(bowed_log(), 60000, 4.0, 0.3);
  const int before = omp_get_max_threads();
  omp_set_num_threads(1);
  const LogShape one = fit_shape(scan, {});
  omp_set_num_threads(2);
  const LogShape two = fit_shape(scan, {});
  omp_set_num_threads(before);
  EXPECT_EQ(one.stations, two.stations);
  EXPECT_EQ(one.radius, two.radius);
  EXPECT_EQ(one.sigma, two.sigma);
  EXPECT_EQ(one.seen, two.seen);
  EXPECT_EQ(one.scan_to_log, two.scan_to_log);
}

TEST(FitShape, RefusesWhatIsNoLog) {
  Scan flat;
  for (int i = 0; i < 100; ++i) {
    for (int j = 0; j < 100; ++j) {
      flat.points.push_back({10.0F * static_cast<float>(i), 10.0F * static_cast<float>(j), 0.0F});
    }
  }
  Scan few;
  few.points.assign(30, Eigen::Vector3f(1, 2, 3));
  for (const Scan& scan : {flat, few}) {
    try {
      fit_shape(scan, {});
      ADD_FAILURE() << "took it for a log";
    } catch (const UserError& error) {
      EXPECT_EQ(error.fault(), Fault::no_log);
    }
  }
}

TEST(FitShape, RefusesSettingsOutOfRange) {
  EXPECT_THROW(fit_shape(scanned({}, 2000, 3.0, 0.2), {.station_step = 0.0}), UserError);
  EXPECT_THROW(fit_shape(scanned({}, 2000, 3.0, 0.2), {.bark = {0, 0.7, 0}}), UserError);
}

}  // namespace
}  // namespace kerfwright
