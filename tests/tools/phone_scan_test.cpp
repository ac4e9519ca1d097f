#include "invented/phone_scan.hpp"

#include <gtest/gtest.h>

#include <Eigen/Geometry>
#include <algorithm>
#include <cmath>
#include <cstring>
#include <numbers>

#include "invented/recipes.hpp"
#include "invented/yard.hpp"
#include "kerfwright/error.hpp"

namespace kerfwright {
namespace {

constexpr double kTurn = 2 * std::numbers::pi;

Eigen::Vector3d in_log(const PhoneScan& scan, const ScannedPoint& point) {
  return (scan.scan_to_log * point.position.cast<double>().homogeneous()).head<3>();
}

PhoneSettings small(std::uint64_t seed) {
  PhoneSettings settings;
  settings.seed = seed;
  settings.points = 20000;
  return settings;
}

int count(const PhoneScan& scan, Label label) {
  return static_cast<int>(std::count_if(scan.points.begin(), scan.points.end(),
                                        [&](const ScannedPoint& p) { return p.label == label; }));
}

/// How far a point is from what its label says, mm; nought for labels that have no surface here.
double distance_from_surface(const InventedLog& log, const Eigen::Vector3d& p, Label label) {
  if (label == Label::bark) {
    const Eigen::Vector3d inside(std::clamp(p.x(), 0.0, log.length), p.y(), p.z());
    return std::abs(depth_in(log, inside, false));
  }
  if (label == Label::end_face) return std::min(std::abs(p.x()), std::abs(p.x() - log.length));
  return 0;
}

void expect_points_on_their_surfaces(const PhoneSettings& settings) {
  const InventedLog log = recipe("crooked-cherry");
  const PhoneScan scan = scan_like_a_phone(log, settings);
  double worst = 0;
  for (const ScannedPoint& point : scan.points)
    worst = std::max(worst, distance_from_surface(log, in_log(scan, point), point.label));
  // 20 thousand normal draws reach 4.1 sigma as a rule; a millimetre for the saw marks and the
  // rounding.
  EXPECT_LT(worst, 5 * settings.noise + 1.0);
  EXPECT_GT(worst, 2 * settings.noise);
}

TEST(PhoneScan, PutsBarkAndFacesWithinFiveSigmaOfTheSolid) {
  expect_points_on_their_surfaces(small(1));
}

TEST(PhoneScan, SaysWhereTheLogLiesAlsoWithYUpAndInMillimetres) {
  PhoneSettings settings = small(2);
  settings.up = FileUp::y;
  settings.unit = FileUnit::millimetre;
  settings.yaw = -150;
  settings.offset = {3, 4, 5};
  expect_points_on_their_surfaces(settings);
}

TEST(PhoneScan, SaysWhereTheLogLiesAlsoWithoutScale) {
  PhoneSettings settings = small(3);
  settings.scale = 0.37;
  settings.unit = FileUnit::centimetre;
  expect_points_on_their_surfaces(settings);
}

TEST(PhoneScan, HasAsManyPointsOfEachKindAsAskedFor) {
  const PhoneScan scan = scan_like_a_phone(recipe("short-plum"), small(4));
  ASSERT_EQ(scan.points.size(), 20000U);
  EXPECT_EQ(count(scan, Label::ground), 4800);
  EXPECT_EQ(count(scan, Label::bunk), 600);
  EXPECT_EQ(count(scan, Label::second_log), 2000);
  EXPECT_EQ(count(scan, Label::clutter), 500);
  EXPECT_EQ(count(scan, Label::stray), 60);
  EXPECT_GT(count(scan, Label::end_face), 500);
  EXPECT_GT(count(scan, Label::bark), 9000);
}

TEST(PhoneScan, LeavesOutWhatIsNotThere) {
  PhoneSettings settings = small(5);
  settings.ground = settings.bunks = settings.second_log = settings.clutter = false;
  settings.stray_share = 0;
  const PhoneScan scan = scan_like_a_phone(recipe("short-plum"), settings);
  EXPECT_EQ(count(scan, Label::bark) + count(scan, Label::end_face), 20000);
}

TEST(PhoneScan, SeesObliqueFacesAndTheBarkUpToThem) {
  InventedLog log = recipe("short-plum");
  log.butt_slope = {0.2, -0.1};
  log.top_slope = {0.0, 0.25};
  PhoneSettings settings = small(12);
  settings.noise = 0;
  const PhoneScan scan = scan_like_a_phone(log, settings);
  double foremost = 0, farthest = 0;
  for (const ScannedPoint& point : scan.points) {
    const Eigen::Vector3d p = in_log(scan, point);
    const double to_butt = p.x() - log.butt_face(p.tail<2>());
    const double to_top = log.top_face(p.tail<2>()) - p.x();
    if (point.label == Label::end_face) {
      ASSERT_LT(std::min(std::abs(to_butt), std::abs(to_top)), 1.0);
    }
    if (point.label != Label::bark) continue;
    ASSERT_GT(to_butt, -0.5);
    ASSERT_GT(to_top, -0.5);
    foremost = std::min(foremost, p.x());
    farthest = std::max(farthest, p.x() - log.length);
  }
  EXPECT_LT(foremost, -10);
  EXPECT_GT(farthest, 15);
}

/// How high the log's underside lies over the top of a box, where it lies over it at all.
double gap_over(const YardLog& lying, const Eigen::AlignedBox3d& box) {
  double gap = 1e9;
  for (double x = 0; x <= lying.log.length; x += 4) {
    for (int j = 0; j < 720; ++j) {
      const Eigen::Vector3d p = lying.to_yard * lying.log.surface(x, kTurn * j / 720);
      const bool over = p.x() >= box.min().x() && p.x() <= box.max().x() &&
                        p.y() >= box.min().y() && p.y() <= box.max().y();
      if (over) gap = std::min(gap, p.z() - box.max().z());
    }
  }
  return gap;
}

TEST(Yard, HasTheLogLyingOnBothBunksAndTheChockAgainstIt) {
  for (const std::string& name : recipe_names()) {
    Dice dice(6);
    const Yard yard = make_yard(recipe(name), {}, dice);
    ASSERT_EQ(yard.boxes.size(), 4U);
    EXPECT_NEAR(gap_over(yard.logs[0], yard.boxes[0].box), 0, 0.5) << name;
    EXPECT_NEAR(gap_over(yard.logs[0], yard.boxes[1].box), 0, 0.5) << name;
    const Eigen::AlignedBox3d& chock = yard.boxes[2].box;
    double nearest = 1e9;
    for (double x = chock.min().x(); x <= chock.max().x(); x += 2) {
      for (double z = chock.min().z(); z <= chock.max().z(); z += 2) {
        const Eigen::Vector3d p =
            yard.logs[0].to_yard.inverse() * Eigen::Vector3d(x, chock.min().y(), z);
        nearest = std::min(nearest, std::abs(depth_in(yard.logs[0].log, p, false)));
      }
    }
    EXPECT_LT(nearest, 1.0) << name;
  }
}

/// Mean over slices of the widest angle without a point.
double hidden_share(const InventedLog& log, const PhoneScan& scan) {
  constexpr int kSlices = 12;
  std::vector<std::vector<double>> angles(kSlices);
  for (const ScannedPoint& point : scan.points) {
    if (point.label != Label::bark) continue;
    const Eigen::Vector3d p = in_log(scan, point);
    const int slice = static_cast<int>(std::floor(p.x() / log.length * kSlices));
    if (slice < 0 || slice >= kSlices) continue;
    const Eigen::Vector2d from_axis = p.tail<2>() - log.axis(p.x());
    angles[static_cast<std::size_t>(slice)].push_back(std::atan2(from_axis.y(), from_axis.x()));
  }
  double sum = 0;
  for (auto& slice : angles) {
    std::sort(slice.begin(), slice.end());
    double widest = slice.front() + kTurn - slice.back();
    for (std::size_t i = 1; i < slice.size(); ++i)
      widest = std::max(widest, slice[i] - slice[i - 1]);
    sum += widest / kTurn / kSlices;
  }
  return sum;
}

TEST(PhoneScan, HidesAsMuchOfTheGirthAsAskedFor) {
  const InventedLog log = recipe("straight-larch");
  for (double hidden : {0.0, 0.1, 0.25, 0.4}) {
    PhoneSettings settings = small(7);
    settings.points = 40000;
    settings.hidden = hidden;
    settings.noise = 1;
    settings.ground = settings.bunks = settings.clutter = settings.second_log = false;
    settings.stray_share = 0;
    EXPECT_NEAR(hidden_share(log, scan_like_a_phone(log, settings)), hidden, 0.03) << hidden;
  }
}

TEST(PhoneScan, IsDenserOnTopThanLowOnTheSide) {
  const InventedLog log = recipe("straight-larch");
  PhoneSettings settings = small(8);
  const PhoneScan scan = scan_like_a_phone(log, settings);
  int top = 0, low = 0;
  for (const ScannedPoint& point : scan.points) {
    if (point.label != Label::bark) continue;
    const Eigen::Vector3d p = in_log(scan, point);
    const double theta = std::atan2(p.z() - log.axis(p.x()).y(), p.y() - log.axis(p.x()).x());
    if (std::abs(theta - kTurn / 4) < 0.3) ++top;
    if (std::abs(theta + 0.5) < 0.3) ++low;
  }
  EXPECT_GT(top, 1.3 * low);
}

TEST(PhoneScan, IsTheSameToTheByteForTheSameSeedOnly) {
  const InventedLog log = recipe("short-plum");
  const std::string bytes = to_ply(scan_like_a_phone(log, small(9)));
  EXPECT_EQ(bytes, to_ply(scan_like_a_phone(log, small(9))));
  EXPECT_NE(bytes, to_ply(scan_like_a_phone(log, small(10))));
}

TEST(PhoneScan, WandersByItsDrift) {
  const InventedLog log = recipe("short-plum");
  PhoneSettings settings = small(11);
  settings.noise = 0;
  settings.drift = 3;
  const PhoneScan scan = scan_like_a_phone(log, settings);
  double worst = 0;
  for (const ScannedPoint& point : scan.points)
    worst = std::max(worst, distance_from_surface(log, in_log(scan, point), point.label));
  EXPECT_GT(worst, 2);
  EXPECT_LT(worst, 3 * 1.5 * std::sqrt(3.0) + 2);
}

TEST(PlyOfAScan, HoldsFloatsAndColoursAndALabelOnlyWhereAskedFor) {
  PhoneScan scan;
  scan.scan_to_log.setIdentity();
  scan.points.push_back({{1.5F, -2.0F, 0.25F}, {10, 20, 30}, Label::stray});
  const std::string plain = to_ply(scan), labelled = to_ply(scan, true);
  const std::size_t body = plain.find("end_header\n") + 11;
  ASSERT_EQ(plain.size(), body + 15);
  const unsigned char expected[15] = {0x00, 0x00, 0xc0, 0x3f, 0x00, 0x00, 0x00, 0xc0,
                                      0x00, 0x00, 0x80, 0x3e, 10,   20,   30};
  EXPECT_EQ(std::memcmp(plain.data() + body, expected, 15), 0);
  EXPECT_EQ(labelled.size(), labelled.find("end_header\n") + 11 + 16);
  EXPECT_EQ(labelled.back(), 6);
}

TEST(PhoneScan, RefusesSettingsThatMakeNoSense) {
  PhoneSettings settings = small(1);
  settings.hidden = 0.7;
  EXPECT_THROW(scan_like_a_phone(recipe("short-plum"), settings), UserError);
  settings = small(1);
  settings.points = 3;
  EXPECT_THROW(scan_like_a_phone(recipe("short-plum"), settings), UserError);
}

}  // namespace
}  // namespace kerfwright
