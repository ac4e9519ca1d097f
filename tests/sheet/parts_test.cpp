#include <gtest/gtest.h>

#include <cmath>
#include <numbers>
#include <random>

#include "kerfwright/shape/section.hpp"
#include "labels.hpp"
#include "look.hpp"
#include "pieces.hpp"
#include "planar.hpp"
#include "samples.hpp"
#include "tables.hpp"

namespace kerfwright::sheet {
namespace {

Polygon circle(double radius, int corners) {
  Polygon polygon;
  for (int i = 0; i < corners; ++i) {
    const double angle = 2.0 * std::numbers::pi * i / corners;
    polygon.emplace_back(radius * std::cos(angle), radius * std::sin(angle));
  }
  return polygon;
}

TEST(Planar, CutsASegmentOffACircle) {
  // Area of the segment beyond h: r^2 acos(h/r) - h sqrt(r^2 - h^2).
  const double beyond =
      100.0 * 100.0 * std::acos(0.4) - 40.0 * std::sqrt(100.0 * 100.0 - 40.0 * 40.0);
  const Polygon segment = clipped(circle(100, 4096), {{0, 1}, 40});
  EXPECT_NEAR(outline_area(segment), beyond, 0.1);
  EXPECT_TRUE(clipped(circle(100, 64), {{0, 1}, 101}).empty());
  EXPECT_EQ(clipped(circle(100, 64), {{0, 1}, -101}).size(), 64U);
}

TEST(Planar, FindsTheChordOfALine) {
  const auto span = span_on_line(circle(100, 4096), {0, 1}, 60);
  ASSERT_TRUE(span);
  EXPECT_NEAR((span->to - span->from).norm(), 160.0, 0.01);
  EXPECT_FALSE(span_on_line(circle(100, 64), {0, 1}, 101));
}

TEST(Planar, HoldsAllPointsInTheHull) {
  std::mt19937 random(1);
  std::uniform_real_distribution<double> place(-10, 10);
  for (int round = 0; round < 50; ++round) {
    Polygon points;
    for (int i = 0; i < 12; ++i) points.emplace_back(place(random), place(random));
    const Polygon chain = hull(points);
    for (std::size_t i = 0; i < chain.size(); ++i) {
      const Eigen::Vector2d edge = chain[(i + 1) % chain.size()] - chain[i];
      for (const auto& p : points) {
        EXPECT_GE(edge.x() * (p.y() - chain[i].y()) - edge.y() * (p.x() - chain[i].x()), -1e-9);
      }
    }
  }
}

TEST(Labels, StayWhereTheyWantWhenThereIsRoom) {
  EXPECT_EQ(spread({{10, 4}, {20, 4}}, 0, 100), (std::vector<double>{10, 20}));
}

TEST(Labels, PartEvenlyWhenTheyWantTheSamePlace) {
  const auto places = spread({{10, 4}, {10, 4}, {10, 4}}, 0, 100);
  EXPECT_NEAR(places[0], 6, 1e-9);
  EXPECT_NEAR(places[1], 10, 1e-9);
  EXPECT_NEAR(places[2], 14, 1e-9);
}

TEST(Labels, NeverOverlapAndKeepTheirOrder) {
  std::mt19937 random(2);
  std::uniform_real_distribution<double> place(0, 50);
  for (int round = 0; round < 200; ++round) {
    std::vector<Slot> slots;
    for (int i = 0; i < 12; ++i) slots.push_back({place(random), 1.0 + place(random) / 20.0});
    const auto places = spread(slots, 0, 50);
    for (std::size_t i = 0; i < slots.size(); ++i) {
      EXPECT_GE(places[i], slots[i].room / 2 - 1e-9);
      for (std::size_t j = 0; j < slots.size(); ++j) {
        if (slots[i].want >= slots[j].want) continue;
        EXPECT_GE(places[j] - places[i], (slots[i].room + slots[j].room) / 2 - 1e-9);
      }
    }
  }
}

TEST(Words, ListNumbersInRuns) {
  EXPECT_EQ(runs({}), "");
  EXPECT_EQ(runs({7}), "7");
  EXPECT_EQ(runs({3, 1, 2, 7, 8}), "1–3, 7–8");
}

TEST(Words, TellTheClock) {
  EXPECT_EQ(clock_text(0), "12:00");
  EXPECT_EQ(clock_text(35), "1:10");
  EXPECT_EQ(clock_text(200), "6:40");
  EXPECT_EQ(clock_text(359), "12:00");
  EXPECT_EQ(clock_text(-90), "9:00");
  EXPECT_EQ(clock_text(720 + 90), "3:00");
}

TEST(Words, RoundForPeople) {
  EXPECT_EQ(look::rounded(-0.2), "0");
  EXPECT_EQ(look::rounded(12.345, 1), "12.3");
  EXPECT_EQ(look::rounded(5, 2), "5.00");
  EXPECT_EQ(paper(-0.001), "0");
  EXPECT_EQ(paper(12.5), "12.5");
  EXPECT_EQ(paper(1e300), "0");
}

TEST(Words, ShortenWhatDoesNotFit) {
  EXPECT_EQ(fitted("plank", 3, 100), "plank");
  const std::string shortened = fitted("plank of the second best sort", 3, 20);
  EXPECT_LE(text_width(shortened, 3), 20.0);
  EXPECT_EQ(shortened.substr(shortened.size() - 3), "…");
}

TEST(Pieces, FindsEachFlitchWithItsBoardsAndCuts) {
  const SawPlan plan = samples::live_plan();
  const auto flitches = find_flitches(plan, samples::live_log());
  ASSERT_EQ(flitches.size(), 3U);
  EXPECT_EQ(flitches[0].piece, "f1");
  EXPECT_EQ(flitches[0].letter, "A");
  EXPECT_EQ(flitches[0].boards.size(), 1U);
  EXPECT_EQ(flitches[0].cuts.size(), 4U);
  EXPECT_EQ(flitches[1].boards.size(), 2U);
  EXPECT_EQ(flitches[1].cuts.size(), 3U);
  for (const auto& flitch : flitches) EXPECT_NEAR(flitch.high - flitch.low, 50.0, 1e-6);
}

TEST(Pieces, LaysAFlitchWithItsNarrowFaceUp) {
  const LogShape shape = samples::live_log();
  const SawPlan plan = samples::live_plan();  // flitches point into it
  const auto flitches = find_flitches(plan, shape);
  for (const auto& flitch : flitches) {
    double upper = 0;
    double lower = 0;
    for (const auto& edge : face_edges(shape, flitch, true)) upper += edge.left - edge.right;
    for (const auto& edge : face_edges(shape, flitch, false)) lower += edge.left - edge.right;
    EXPECT_LE(upper, lower + 1e-6) << flitch.letter;
  }
  // The face of the first flitch is a chord 81 mm above the centre of a circle of 152 mm.
  EXPECT_NEAR(face_edges(shape, flitches[0], true)[30].left -
                  face_edges(shape, flitches[0], true)[30].right,
              2 * std::sqrt(152.0 * 152.0 - 81.0 * 81.0), 0.6);
}

TEST(Pieces, TakesTheCantsBoardsForFlitchesToo) {
  const SawPlan plan = samples::cant_plan();  // flitches point into it
  const auto flitches = find_flitches(plan, samples::cant_log());
  ASSERT_EQ(flitches.size(), 6U);
  EXPECT_EQ(flitches[0].piece, "f1");
  EXPECT_EQ(flitches[1].piece, "f2");
  EXPECT_EQ(flitches[2].piece, "c1");
  EXPECT_NEAR(flitches[2].high - flitches[2].low, 50.0, 1e-6);
  // The cant is 150 mm high: so wide are its boards over their whole length.
  for (const auto& edge : face_edges(samples::cant_log(), flitches[3], true)) {
    EXPECT_NEAR(edge.left - edge.right, 150.0, 0.05);
  }
}

TEST(Pieces, FollowsACutTreeThatBitesItsTail) {
  SawPlan plan = samples::live_plan();
  plan.cuts[0].piece = plan.cuts[2].below;
  const PieceTree tree(plan);
  EXPECT_LE(tree.ancestry("f3").size(), plan.cuts.size() * 2 + 1);
  tree.cuts_below("log");
}

}  // namespace
}  // namespace kerfwright::sheet
