// The log among what stands about it in a yard, against the known solid of an invented log.

#include <gtest/gtest.h>

#include <Eigen/Geometry>
#include <Eigen/LU>
#include <algorithm>
#include <cmath>
#include <cstring>
#include <functional>
#include <numbers>

#include "invented/against_truth.hpp"
#include "invented/recipes.hpp"
#include "invented/yard.hpp"
#include "kerfwright/scan/find_log.hpp"
#include "kerfwright/shape/fit_shape.hpp"

namespace kerfwright {
namespace {

struct Case {
  InventedLog log;
  PhoneSettings phone;
};

Case small_case(std::uint64_t seed) {
  Case c{random_log(seed), {}};
  c.phone.seed = seed;
  c.phone.points = 25000;
  return c;
}

struct Outcome {
  PhoneScan scan;
  LogInScan found;
  LogShape shape;
  ShapeErrors errors;
  Kept kept;
};

Outcome outcome_of(const Case& c, const FindSettings& settings = {}) {
  Outcome o;
  o.scan = scan_like_a_phone(c.log, c.phone);
  o.found = look_for_log(as_read(o.scan), settings);
  o.kept = kept_points(o.scan, o.found.labels);
  o.shape = fit_shape(o.found.log, {});
  TrueEnd top = top_of(c.log);
  if (c.phone.about.crop_at > 0) {
    const ScanBorder border = scan_border(c.log, c.phone);
    top = {border.normal, border.distance};
  }
  o.errors = against_truth(o.shape, c.log, o.scan.scan_to_log, butt_of(c.log), top);
  return o;
}

bool has_note(const std::vector<std::string>& notes, const std::string& words) {
  return std::any_of(notes.begin(), notes.end(), [&](const std::string& note) {
    return note.find(words) != std::string::npos;
  });
}

/// What stands about may cost some points, but neither length nor form.
void expect_as_if_alone(const std::string& name, const std::function<void(PhoneSettings&)>& change,
                        double least_kept = 0.985) {
  for (const std::uint64_t seed : {1U, 4U}) {
    Case c = small_case(seed);
    change(c.phone);
    const Outcome o = outcome_of(c);
    SCOPED_TRACE(name + ", log " + std::to_string(seed));
    EXPECT_LT(std::abs(o.errors.length), 3.0);
    EXPECT_LT(o.errors.seen_rmse, 2.0);
    EXPECT_LT(std::abs(o.errors.seen_bias), 0.3);
    EXPECT_LT(o.errors.worst_bulge, 16.0);
    EXPECT_GT(o.kept.own, least_kept);
    EXPECT_LT(o.kept.strange, 0.012);
  }
}

TEST(Surroundings, AFrameUnderAndBesideTheLogChangesNothing) {
  expect_as_if_alone("frame", [](PhoneSettings& s) { s.about.frame = true; });
}

TEST(Surroundings, ChocksOnBothSidesChangeNothing) {
  expect_as_if_alone("chocks", [](PhoneSettings& s) {
    s.about.chocks = true;
    s.bunks = false;
  });
}

TEST(Surroundings, ALegAgainstTheLogAndPostsCloseToItChangeNothing) {
  expect_as_if_alone("leg and posts",
                     [](PhoneSettings& s) { s.about.boot = s.about.posts = true; });
}

TEST(Surroundings, UnevenGroundWithLongGrassChangesNothing) {
  expect_as_if_alone("uneven", [](PhoneSettings& s) {
    s.about.relief = 3.0;
    s.about.grass = 30.0;
  });
}

TEST(Surroundings, ALogAlongsideThatTouchesIsLeft) {
  expect_as_if_alone("alongside",
                     [](PhoneSettings& s) { s.about.second_log = SecondLogPlace::alongside; });
}

TEST(Surroundings, ALogThatLiesAcrossOnTopIsLeft) {
  expect_as_if_alone("across",
                     [](PhoneSettings& s) { s.about.second_log = SecondLogPlace::across; });
}

TEST(Surroundings, StumpsOfBranchesAreTakenOffAndCounted) {
  expect_as_if_alone("branches", [](PhoneSettings& s) { s.about.branches = 2; });
  Case c = small_case(1);
  c.phone.about.branches = 2;
  EXPECT_GT(outcome_of(c).found.counts[static_cast<std::size_t>(PointLabel::branch)], 100U);
}

/// Share of a random log's own points that are taken for it, with a smooth log beside it.
double share_found(std::uint64_t seed, const LogRanges& ranges) {
  Case c = small_case(seed);
  c.log = random_log(seed, ranges);
  c.phone.points = 60000;
  const PhoneScan scan = scan_like_a_phone(c.log, c.phone);
  const LogInScan found = look_for_log(as_read(scan), {});
  return kept_points(scan, found.labels).own;
}

/// Twice as burled and fluted as a woodlot's logs, beside a smooth one that is shorter and thinner.
TEST(Surroundings, ARoughLogThatWasWalkedAroundIsTakenBeforeASmoothOneBesideIt) {
  LogRanges rough;
  rough.length = {1800, 2700};
  rough.diameter = {350, 560};
  rough.sweep = {20, 80};
  rough.ovality = {0.1, 0.25};
  rough.flutes = {4, 8};
  rough.flute_depth = {0.15, 0.3};
  rough.burls = {3, 5};
  rough.burl_height = {0.3, 0.8};
  for (const std::uint64_t seed : {6U, 7U, 11U}) {
    EXPECT_GT(share_found(seed, rough), 0.9) << seed;
  }
}

/// A log of 0.9 to 1.3 m that is nearly as thick as long, with lobes that are rounder than itself.
TEST(Surroundings, AShortThickLogIsTakenWholeBesideASmoothOne) {
  LogRanges short_ones;
  short_ones.length = {900, 1300};
  short_ones.diameter = {440, 560};
  short_ones.sweep = {0, 80};
  short_ones.ovality = {0.05, 0.25};
  short_ones.flutes = {4, 8};
  short_ones.flute_depth = {0.1, 0.3};
  short_ones.burls = {2, 5};
  short_ones.burl_height = {0.3, 0.8};
  for (const std::uint64_t seed : {11U, 18U, 19U}) {
    EXPECT_GT(share_found(seed, short_ones), 0.95) << seed;
  }
}

TEST(Surroundings, OfTwoLogsInLineTheLongerIsTaken) {
  for (const std::uint64_t seed : {2U, 3U, 5U}) {
    Case c = small_case(seed);
    c.phone.points = 40000;  // with fewer a gap of a finger's width hardly shows
    c.phone.about.second_log = SecondLogPlace::in_line;
    c.phone.about.in_line_gap = 25;
    const Outcome o = outcome_of(c);
    SCOPED_TRACE(seed);
    // A joint is cut square; where the logs lie askew a little is left out.
    EXPECT_LT(o.errors.length, 5.0);
    EXPECT_GT(o.errors.length, -25.0);
    EXPECT_LT(o.errors.seen_rmse, 2.0);
    EXPECT_TRUE(has_note(o.found.log.notes, "other round thing"));
  }
}

TEST(Surroundings, NearTakesTheOtherLogAndSaysHowToTakeTheFirst) {
  Case c = small_case(2);
  const PhoneScan scan = scan_like_a_phone(c.log, c.phone);
  Eigen::Vector3d middle = Eigen::Vector3d::Zero();
  double count = 0;
  for (const ScannedPoint& point : scan.points) {
    if (point.label != Label::second_log) continue;
    middle += point.position.cast<double>();
    count += 1;
  }
  FindSettings settings;
  settings.near = middle / count;
  const LogInScan found = look_for_log(as_read(scan), settings);
  double of_second = 0, of_first = 0;
  for (std::size_t i = 0; i < found.labels.size(); ++i) {
    if (found.labels[i] != PointLabel::log) continue;
    of_second += scan.points[i].label == Label::second_log ? 1 : 0;
    of_first += scan.points[i].label == Label::bark ? 1 : 0;
  }
  EXPECT_GT(of_second, 0.95 * count);
  EXPECT_LT(of_first, 0.01 * count);
  EXPECT_TRUE(has_note(found.log.notes, "--near"));
}

TEST(Surroundings, AnUprightStemIsNeverMadeLongerAndSaysWhatTheClockCountsFrom) {
  for (const LogPose pose : {LogPose::standing, LogPose::hanging}) {
    Case c = small_case(1);
    c.phone.about.pose = pose;
    c.phone.second_log = c.phone.clutter = false;
    c.phone.hidden = 0;
    const Outcome o = outcome_of(c);
    EXPECT_LT(o.errors.length, 3.0);
    EXPECT_GT(o.errors.length, -40.0);  // its foot stands in the grass, its top face is not seen
    EXPECT_LT(o.errors.seen_rmse, 2.0);
    EXPECT_TRUE(has_note(o.found.log.notes, "upright"));
    EXPECT_TRUE(has_note(o.shape.notes, "clock positions count from"));
  }
}

TEST(Surroundings, NothingIsInventedBeyondWhereTheScanStops) {
  for (const double angle : {0.0, 20.0, 40.0}) {
    Case c = small_case(4);
    c.phone.about.crop_at = 0.7;
    c.phone.about.crop_angle = angle;
    const Outcome o = outcome_of(c);
    SCOPED_TRACE(angle);
    EXPECT_LT(o.errors.top, 3.0);
    EXPECT_GT(o.errors.top, -35.0);
    ASSERT_EQ(o.found.open_ends.size(), 1U);
    EXPECT_TRUE(o.found.open_ends[0].scan_stops);
  }
}

/// Where the crotch is follows from plane geometry of two round stems. A second stem cut off close
/// beyond the crotch is taken off too, but not called one.
TEST(Surroundings, TheMainStemOfAForkIsTakenWithoutABulge) {
  for (const std::uint64_t seed : {2U, 3U}) {
    Case c = small_case(seed);
    Surroundings& about = c.phone.about;
    c.phone.points = 40000;
    Dice dice(seed + 999);
    about.fork_at = dice.uniform(0.35, 0.75);
    about.fork_angle = dice.uniform(18, 45);
    about.fork_size = dice.uniform(0.5, 0.9);
    about.fork_length = dice.uniform(0.25, 0.5) * c.log.length;
    const Outcome o = outcome_of(c);
    SCOPED_TRACE(seed);
    EXPECT_LT(std::abs(o.errors.length), 3.0);
    EXPECT_LT(o.errors.seen_rmse, 2.0);
    EXPECT_LT(o.errors.worst_bulge, 12.0);
    EXPECT_LT(o.kept.strange, 0.015);
    EXPECT_GT(o.found.counts[static_cast<std::size_t>(PointLabel::fork)], 3000U);
    ASSERT_TRUE(o.found.fork);
    const double radius = 0.5 * (c.log.butt_radius + c.log.top_radius),
                 tilt = about.fork_angle * std::numbers::pi / 180;
    const double crotch = about.fork_at * c.log.length +
                          (radius + about.fork_size * radius / std::cos(tilt)) / std::tan(tilt);
    const Eigen::Vector3d place = (o.scan.scan_to_log * o.found.log.file_to_scan.inverse() *
                                   o.found.fork->crotch.homogeneous())
                                      .head<3>();
    EXPECT_NEAR(place.x(), crotch, 0.8 * radius);
  }
}

TEST(Surroundings, ObliqueFacesLeaveTheLengthThatIsWhole) {
  for (const std::uint64_t seed : {3U, 4U}) {
    Case c = small_case(seed);
    c.phone.points = 60000;
    const double turn = static_cast<double>(seed);
    c.log.butt_slope = std::tan(0.35) * Eigen::Vector2d(std::cos(turn), std::sin(turn));
    c.log.top_slope = std::tan(0.2) * Eigen::Vector2d(std::sin(turn), std::cos(2.0 * turn));
    const Outcome o = outcome_of(c);
    SCOPED_TRACE(seed);
    EXPECT_LT(std::abs(o.errors.length), 3.0);
    EXPECT_LT(o.errors.butt, 3.0);
    EXPECT_LT(o.errors.top, 3.0);
  }
}

TEST(LabelledPly, HoldsEveryPointInTheFilesOwnCoordinatesWithItsLabel) {
  Scan scan;
  scan.points = {{1.0F, 2.0F, 3.0F}, {-4.0F, 5.0F, 6.5F}};
  scan.file_to_scan.topLeftCorner<3, 3>() *= 1000.0;
  const std::vector<PointLabel> labels{PointLabel::log, PointLabel::fork};
  const std::string plain = labelled_ply(scan, labels);
  EXPECT_NE(plain.find("property float x"), std::string::npos);
  EXPECT_NE(plain.find("property int label"), std::string::npos);
  std::size_t body = plain.find("end_header\n") + 11;
  ASSERT_EQ(plain.size(), body + 2 * 19);
  float x = 0;
  std::memcpy(&x, plain.data() + body + 19, 4);
  EXPECT_FLOAT_EQ(x, -0.004F);
  EXPECT_EQ(plain[body + 15], 0);
  EXPECT_EQ(plain[body + 19 + 15], 6);

  const Eigen::Vector3d far(512345.25, 5412345.5, 431.125);  // m, as surveyed
  scan.file_to_scan.topRightCorner<3, 1>() = -1000.0 * far;
  const std::string surveyed = labelled_ply(scan, labels);
  EXPECT_NE(surveyed.find("property double x"), std::string::npos);
  body = surveyed.find("end_header\n") + 11;
  ASSERT_EQ(surveyed.size(), body + 2 * 31);
  double y = 0;
  std::memcpy(&y, surveyed.data() + body + 8, 8);
  EXPECT_NEAR(y, 5412345.502, 1e-7);
}

}  // namespace
}  // namespace kerfwright
