#include <gtest/gtest.h>

#include <Eigen/Geometry>
#include <random>

#include "error_of.hpp"
#include "kerfwright/error.hpp"
#include "kerfwright/shape/mark_geometry.hpp"
#include "kerfwright/shape/read_marks.hpp"
#include "kerfwright/shape/section.hpp"
#include "known_solids.hpp"

namespace kerfwright {
namespace {

using solids::sampled;
using solids::Solid;

/// A straight cylinder of 150 mm radius and 3 m.
LogShape cylinder() { return sampled({}, 100.0); }

/// The same, bowed by 120 mm to +y in the middle.
LogShape bow() {
  Solid bent;
  bent.axis = [](double x) {
    return Eigen::Vector2d(120.0 * std::sin(std::numbers::pi * x / 3000.0), 0.0);
  };
  return sampled(bent, 100.0);
}

Marks parsed(const std::string& toml, const LogShape& shape = cylinder()) {
  return parse_marks(toml, "log.marks.toml", shape);
}

TEST(Clock, RunsToTheRightForSomeoneAtTheButtWhoLooksAlongTheLog) {
  // x goes away from that person and z up; then y = z cross x goes to the left hand.
  const Eigen::Vector3d away = Eigen::Vector3d::UnitX();
  const Eigen::Vector3d up = Eigen::Vector3d::UnitZ();
  const Eigen::Vector2d right = -Eigen::Vector2d(up.cross(away).tail<2>());
  EXPECT_NEAR((clock_direction(3.0) - right).norm(), 0.0, 1e-12);
  EXPECT_NEAR((clock_direction(12.0) - Eigen::Vector2d(0, 1)).norm(), 0.0, 1e-12);
  EXPECT_NEAR((clock_direction(6.0) - Eigen::Vector2d(0, -1)).norm(), 0.0, 1e-12);
  for (double hours = 0.25; hours <= 12.0; hours += 0.25) {
    EXPECT_NEAR(clock_hours(clock_direction(hours)), hours, 1e-9);
  }
}

TEST(ReadMarks, PutsANailWhereAPersonMeasuredIt) {
  const Marks marks = parsed("[[metal]]\nfrom_butt = 800\nclock = 3\ndepth = 40\nreach = 30\n");
  ASSERT_EQ(marks.metal.size(), 1U);
  EXPECT_NEAR((marks.metal[0].place - Eigen::Vector3d(800, -110, 0)).norm(), 0.0, 0.01);
  EXPECT_EQ(marks.metal[0].reach, 30.0);
}

TEST(ReadMarks, TakesLengthsWithTheirUnit) {
  const Marks marks = parsed(
      "[[metal]]\nfrom_butt = \"2 ft 6 in\"\nclock = 3\ndepth = \"1 1/2 in\"\nreach = \"3 cm\"\n");
  ASSERT_EQ(marks.metal.size(), 1U);
  EXPECT_NEAR((marks.metal[0].place - Eigen::Vector3d(762, -150 + 38.1, 0)).norm(), 0.0, 0.01);
  EXPECT_NEAR(marks.metal[0].reach, 30.0, 1e-9);
}

TEST(ReadMarks, MeasuresDepthFromTheBarkOfACrookedLog) {
  const Marks marks =
      parsed("[[metal]]\nfrom_butt = 1500\nclock = 9\ndepth = 20\nreach = 30\n", bow());
  EXPECT_NEAR((marks.metal[0].place - Eigen::Vector3d(1500, 120 + 130, 0)).norm(), 0.0, 0.01);
}

TEST(ReadMarks, TakesEveryKindOfMark) {
  const Marks marks = parsed(R"(
[pith]
butt = { clock = 12, depth = 110 }
top  = { clock = 6, depth = 140 }
[[rot]]
butt_radius = 60
top_radius = 0
[[hollow]]
butt_radius = 20
top_radius = 0
[[split]]
end = "top"
clock = 2
depth = 350
through = false
[[knot]]
from_butt = 1200
clock = 12
size = 45
sound = false
[[figure]]
name = "burl"
from_butt = 400
to_butt = 700
clock_from = 10
clock_to = 2
depth = 80
)");
  ASSERT_TRUE(marks.pith);
  EXPECT_NEAR((marks.pith->butt - Eigen::Vector2d(0, 40)).norm(), 0.0, 0.01);
  EXPECT_NEAR((marks.pith->top - Eigen::Vector2d(0, -10)).norm(), 0.0, 0.01);
  ASSERT_EQ(marks.rot.size(), 1U);
  EXPECT_EQ(marks.rot[0].radius_butt, 60.0);
  ASSERT_EQ(marks.hollow.size(), 1U);
  ASSERT_EQ(marks.splits.size(), 1U);
  EXPECT_FALSE(marks.splits[0].from_butt);
  EXPECT_FALSE(marks.splits[0].through);
  ASSERT_EQ(marks.knots.size(), 1U);
  EXPECT_FALSE(marks.knots[0].sound);
  EXPECT_NEAR((marks.knots[0].at_bark - Eigen::Vector3d(1200, 0, 150)).norm(), 0.0, 0.01);
  EXPECT_NEAR((marks.knots[0].at_pith - Eigen::Vector3d(1200, 0, 20)).norm(), 0.0, 0.01);
  ASSERT_EQ(marks.figure.size(), 1U);
  EXPECT_EQ(marks.figure[0].name, "burl");
}

TEST(ReadMarks, TakeHalfPastTwelveEitherWay) {
  const auto place = [](const std::string& clock) {
    return parsed("[[metal]]\nfrom_butt = 1\ndepth = 1\nreach = 1\nclock = " + clock)
        .metal[0]
        .place;
  };
  EXPECT_EQ(place("12.5"), place("0.5"));
  EXPECT_EQ(place("12"), place("0"));
  EXPECT_NE(place("12"), place("0.5"));
}

TEST(ReadMarks, OfAnEmptyFileAreNone) { EXPECT_TRUE(parsed("# nothing seen\n").empty()); }

struct Wrong {
  const char* toml;
  Fault fault;
  const char* says;  ///< a part of the sentence
};

TEST(ReadMarks, SaysWhichKeyOfWhichLineIsWrong) {
  const std::vector<Wrong> wrong = {
      {"[[metal]]\nfrom_butt = 3100\nclock = 3\ndepth = 4\nreach = 30\n", Fault::bad_marks,
       "line 2: 'from_butt' is 3100 mm, but the log is only 3000 mm long"},
      {"[[metal]]\nfrom_butt = 300\nclock = 3\ndepth = 154\nreach = 30\n", Fault::bad_marks,
       "line 4: 'depth' is 154 mm, but the middle of the log lies 150 mm"},
      {"[[metal]]\nfrom_butt = 300\nclock = 13\ndepth = 4\nreach = 30\n", Fault::bad_marks,
       "line 3: 'clock' must be a number"},
      {"[[metal]]\nfrom_butt = 300\nclock = 3\ndepth = 4\n", Fault::bad_marks,
       "line 1: metal needs 'reach'"},
      {"[[nail]]\nfrom_butt = 300\n", Fault::unknown_key, "'nail' is no key of a file of marks"},
      {"[[metal]]\nfrom_but = 300\n", Fault::unknown_key, "line 2: 'from_but' is no key of metal"},
      {"[[rot]]\nbutt_radius = 150\ntop_radius = 0\n", Fault::bad_marks, "line 2: 'butt_radius'"},
      {"[[rot]]\nbutt_radius = 0\ntop_radius = 0\n", Fault::bad_marks, "0 at both ends"},
      {"[rot]\nbutt_radius = 0\ntop_radius = 0\n", Fault::bad_marks, "two brackets"},
      {"[[split]]\nend = \"left\"\nclock = 3\ndepth = 100\n", Fault::bad_marks, "line 2: 'end'"},
      {"[[split]]\nend = \"top\"\nclock = 3\ndepth = 3001\n", Fault::bad_marks, "line 4: 'depth'"},
      {"[[split]]\nend = \"top\"\nclock = 3\ndepth = 30\nthrough = 1\n", Fault::bad_marks,
       "line 5: 'through' must be true or false"},
      {"[[knot]]\nfrom_butt = 3\nclock = 3\nsize = 301\n", Fault::bad_marks, "line 4: 'size'"},
      {"[[figure]]\nname = \"curl\"\nfrom_butt = 700\nto_butt = 600\n", Fault::bad_marks,
       "line 4: 'to_butt'"},
      {"[[figure]]\nname = \"curl\"\nclock_from = 3\nclock_to = 3\n", Fault::bad_marks, "line 4"},
      {"[pith]\nbutt = { clock = 1, depth = 140 }\n", Fault::bad_marks, "line 1: the pith needs"},
      {"[pith]\nbutt = 3\n", Fault::bad_marks, "line 2: the pith needs 'butt'"},
      {"[[pith]]\nbutt = 3\n", Fault::bad_marks, "one bracket"},
      {"[[metal]\n", Fault::bad_toml, "this is not TOML"}};
  for (const Wrong& each : wrong) {
    const auto error = error_of([&] { parsed(each.toml); });
    EXPECT_EQ(error.fault(), each.fault) << each.toml << error.what();
    EXPECT_NE(std::string(error.what()).find(each.says), std::string::npos) << error.what();
  }
}

TEST(PithLine, FollowsACrookedLog) {
  LogShape shape = bow();
  EXPECT_NEAR((PithLine(shape).at(1500) - Eigen::Vector2d(120, 0)).norm(), 0.0, 1e-6);
  shape.marks.pith = Pith{{10, 0}, {30, 0}};
  EXPECT_NEAR((PithLine(shape).at(1500) - Eigen::Vector2d(120 + 20, 0)).norm(), 0.0, 1e-6);
  EXPECT_NEAR((PithLine(shape).at(-5) - Eigen::Vector2d(10, 0)).norm(), 0.0, 1e-9);
  EXPECT_NEAR((PithLine(shape).at(9000) - Eigen::Vector2d(30, 0)).norm(), 0.0, 1e-9);
}

TEST(Rot, IsAConeAboutThePith) {
  const LogShape shape = cylinder();
  const PithLine pith(shape);
  const Core rot{60, 0};
  EXPECT_NEAR(depth_in_core(shape, pith, rot, {0, 0, 0}), 60.0, 1e-6);
  EXPECT_NEAR(depth_in_core(shape, pith, rot, {1500, 20, 0}), 10.0, 1e-6);
  EXPECT_NEAR(depth_in_core(shape, pith, rot, {1500, 0, 50}), -20.0, 1e-6);
  EXPECT_NEAR(depth_in_core(shape, pith, rot, {3000, 5, 0}), -5.0, 1e-6);
}

TEST(Metal, ReachesRoundItsPlace) {
  const Metal nail{{800, -110, 0}, 30};
  EXPECT_NEAR(depth_in_metal(nail, {800, -110, 10}), 20.0, 1e-9);
  EXPECT_NEAR(depth_in_metal(nail, {850, -110, 0}), -20.0, 1e-9);
}

TEST(Split, IsAHalfPlaneFromThePithUnlessItRunsThrough) {
  const LogShape shape = cylinder();
  const PithLine pith(shape);
  Split split{true, 400, clock_direction(12), false};
  EXPECT_NEAR(distance_to_split(shape, pith, split, {200, 7, 90}), 7.0, 1e-6);
  EXPECT_NEAR(distance_to_split(shape, pith, split, {200, 30, -40}), 50.0, 1e-6);
  EXPECT_NEAR(distance_to_split(shape, pith, split, {440, 30, 90}), 50.0, 1e-6);
  split.through = true;
  EXPECT_NEAR(distance_to_split(shape, pith, split, {200, 30, -40}), 30.0, 1e-6);
  split.from_butt = false;
  EXPECT_NEAR(distance_to_split(shape, pith, split, {2700, 30, -40}), 30.0, 1e-6);
}

TEST(Knot, IsAConeWithItsPointOnThePith) {
  const Knot knot{{1200, 0, 150}, {1200, 0, 0}, 60, true};
  EXPECT_NEAR(knot_radius(knot, {1200, 0, 75}), 15.0, 1e-9);
  EXPECT_NEAR(depth_in_knot(knot, {1204, 3, 75}), 10.0, 1e-9);
  EXPECT_NEAR(depth_in_knot(knot, {1200, 40, 150}), -10.0, 1e-9);
  EXPECT_NEAR(depth_in_knot(knot, {1200, 0, 190}), 30.0, 1e-9);  // in the stub
  EXPECT_NEAR(depth_in_knot(knot, {1200, 30, -40}), -50.0, 1e-9);
}

TEST(Figure, RunsClockwiseOverTwelveAndAsDeepAsItWasSeen) {
  const LogShape shape = cylinder();
  const FigureZone zone{"burl", 400, 700, 10, 2, 80};
  const auto at = [&](double x, double clock, double rho) {
    const Eigen::Vector2d yz = rho * clock_direction(clock);
    return is_in_figure(shape, zone, {x, yz.x(), yz.y()});
  };
  EXPECT_TRUE(at(500, 11, 100));
  EXPECT_TRUE(at(500, 1.9, 100));
  EXPECT_FALSE(at(500, 2.1, 100));
  EXPECT_FALSE(at(500, 9.9, 100));
  EXPECT_FALSE(at(390, 12, 100));
  EXPECT_FALSE(at(500, 12, 60));   // deeper than 80 mm
  EXPECT_FALSE(at(500, 12, 160));  // outside the log
  const FigureZone all{"curl", 0, 3000, 0, 12, 0};
  EXPECT_TRUE(is_in_figure(shape, all, {1, 0, -3}));
  EXPECT_TRUE(is_in_figure(shape, all, {2999, 140, 0}));
}

TEST(RingAngle, IsThatOfThePublishedModel) {
  // Angle = atan2(|x|, |y|), x along the face and y square to it from the pith: computed rows.
  const LogShape shape = cylinder();
  const PithLine pith(shape);
  const Eigen::Vector3d face(0, 0, 1);
  EXPECT_NEAR(ring_angle(pith, {500, 0, 80}, face), 0.0, 1e-6);
  EXPECT_NEAR(ring_angle(pith, {500, 80, 80}, face), 45.0, 1e-3);
  EXPECT_NEAR(ring_angle(pith, {500, 80, 0}, face), 90.0, 1e-3);
  EXPECT_NEAR(ring_angle(pith, {500, 30, 52}, face), 30.0, 0.05);
  EXPECT_NEAR(ring_angle(pith, {500, 30, -52}, -3.0 * face), 30.0, 0.05);
}

TEST(BarkAtAStation, RunsLinearlyBetweenStations) {
  LogShape shape = cylinder();
  shape.bark = 10;
  EXPECT_EQ(bark_at(shape, 7), 10.0);
  for (std::size_t i = 0; i < shape.stations.size(); ++i) {
    shape.bark_at_station.push_back(20.0 - shape.stations[i] / 150.0);
  }
  EXPECT_NEAR(section_outline_at(shape, 750, Bark::off)[0].norm(), 150 - 15, 1e-4);
  EXPECT_NEAR(section_outline_at(shape, 750, Bark::on)[0].norm(), 150, 1e-4);
  EXPECT_NEAR(depth_inside(shape, {750, 100, 0}, Bark::off), 35, 1e-3);
  EXPECT_NEAR(depth_inside(shape, {750, 100, 0}, Bark::off, 5), 30, 1e-3);
}

}  // namespace
}  // namespace kerfwright
