#include <gtest/gtest.h>

#include <algorithm>
#include <cstdio>

#include "../error_of.hpp"
#include "kerfwright/saw/replan.hpp"
#include "kerfwright/saw/replay.hpp"
#include "kerfwright/sheet/face_widths.hpp"
#include "kerfwright/sheet/plan_file.hpp"
#include "kerfwright/sheet/saw_sheet.hpp"
#include "kerfwright/sheet/saw_steps.hpp"
#include "samples.hpp"
#include "sheet_reader.hpp"

namespace kerfwright {
namespace {

const MillCut& cut_in(const SawSteps& steps, int n) {
  for (const Stage& stage : steps.stages) {
    for (const MillCut& cut : stage.cuts) {
      if (cut.n == n) return cut;
    }
  }
  throw std::out_of_range("no such cut");
}

FaceWidths widths_by_model(const SawPlan& plan, const LogShape& shape, int n, double more) {
  FaceWidths widths{};
  const SawSteps steps = saw_steps(plan, shape);
  for (std::size_t i = 0; i < 3; ++i) widths[i] = cut_in(steps, n).face[i].width.value() + more;
  return widths;
}

PlanSettings quick() {
  PlanSettings settings;
  settings.turn_step = 15;
  settings.lifts = 3;
  return settings;
}

TEST(FaceWidths, WithinWhatTheSheetAllowsTheLogIsLeftAsItIs) {
  const SawPlan plan = samples::live_plan();
  const LogShape shape = samples::live_log();
  const double allowed = cut_in(saw_steps(plan, shape), 2).face[0].within;
  const auto face =
      take_face_widths(plan, shape, 2, widths_by_model(plan, shape, 2, 0.9 * allowed));
  EXPECT_TRUE(face.agrees);
  EXPECT_EQ(face.shape.radius, shape.radius);
  EXPECT_NE(face.sentence.find("left as it is"), std::string::npos);
}

/// Narrower and wider, the model's face is then what the tape says, and the far side moves less
/// than the edges do.
TEST(FaceWidths, TheModelsFaceBecomesAsWideAsTheTapeSays) {
  const SawPlan plan = samples::live_plan();
  const LogShape shape = samples::live_log();
  for (const double more : {-20.0, 20.0}) {
    SCOPED_TRACE(more);
    const FaceWidths measured = widths_by_model(plan, shape, 1, more);
    const auto face = take_face_widths(plan, shape, 1, measured);
    EXPECT_FALSE(face.agrees);
    const FaceWidths now = widths_by_model(plan, face.shape, 1, 0.0);
    for (std::size_t i = 0; i < 3; ++i) EXPECT_NEAR(now[i], measured[i], 1.0);
    for (std::size_t i = 0; i < shape.stations.size(); ++i) {
      for (std::size_t j = 0; j < shape.radius[i].size(); ++j) {
        const double moved = static_cast<double>(face.shape.radius[i][j] - shape.radius[i][j]);
        EXPECT_LE(std::abs(moved), std::abs(more) / 2 + 1.0);
        EXPECT_GE(moved * more, -1e-6);
      }
    }
  }
}

/// A face that is wider at one end only changes that end.
TEST(FaceWidths, WhatIsOffAtTheTopIsMendedThere) {
  const SawPlan plan = samples::live_plan();
  const LogShape shape = samples::live_log();
  FaceWidths measured = widths_by_model(plan, shape, 1, 0.0);
  measured[2] -= 20;
  const auto face = take_face_widths(plan, shape, 1, measured);
  EXPECT_EQ(face.shape.radius.front(), shape.radius.front());
  EXPECT_NE(face.shape.radius.back(), shape.radius.back());
}

TEST(FaceWidths, SaysWhatIsAbsurd) {
  const SawPlan plan = samples::live_plan();
  const LogShape shape = samples::live_log();
  const auto fault = [&](int n, const FaceWidths& widths) {
    return error_of([&] { take_face_widths(plan, shape, n, widths); }).fault();
  };
  EXPECT_EQ(fault(1, {1, 1, 1}), Fault::usage);
  EXPECT_EQ(fault(1, {4000, 4000, 4000}), Fault::usage);
  EXPECT_EQ(fault(plan.cuts.back().n, {200, 200, 200}), Fault::usage);  // an edging cut
  EXPECT_EQ(fault(999, {200, 200, 200}), Fault::usage);
}

/// A log that is 20 mm narrower than it was thought: boards that no longer fit are gone, what is
/// planned is there in the narrower log.
TEST(FaceWidths, ANarrowerLogGivesBoardsThatAreThere) {
  const SawPlan plan = samples::live_plan();
  const LogShape shape = samples::live_log();
  const auto face = take_face_widths(plan, shape, 1, widths_by_model(plan, shape, 1, -30.0));
  ASSERT_FALSE(replay(plan, face.shape).complete);
  const SawPlan now = replan(plan, face.shape, 1, quick());
  EXPECT_TRUE(replay(now, face.shape).complete);
  EXPECT_GT(now.totals.value, 0.0);
  EXPECT_LT(now.totals.board_m3, plan.totals.board_m3 + 1e-9);
}

/// The sheet begins with the next cut, and letters stay as they are chalked.
TEST(ReplannedSheet, BeginsAfterTheCutsThatAreMade) {
  SawPlan plan = samples::cant_plan();
  const auto whole = sheet_reader::read(saw_sheet_html(plan, samples::cant_log()));
  for (std::size_t s = 0; s < whole.stages.size(); ++s) {
    for (const auto& made : whole.stages[s].cuts) {
      plan.done = made.n;
      const auto read = sheet_reader::read(saw_sheet_html(plan, samples::cant_log()));
      std::vector<int> left;
      for (const auto& stage : read.stages) {
        EXPECT_FALSE(stage.cuts.empty());
        for (const auto& cut : stage.cuts) left.push_back(cut.n);
      }
      std::vector<int> expected;
      for (const auto& stage : whole.stages) {
        for (const auto& cut : stage.cuts) {
          if (cut.n > made.n) expected.push_back(cut.n);
        }
      }
      EXPECT_EQ(left, expected) << "after cut " << made.n;
      EXPECT_EQ(read.flitches.size(), whole.flitches.size());  // none is edged yet
    }
  }
}

/// A log in the middle of a setup is not blocked up anew, whatever the model now says of its
/// underside; if it was moved, its newest face says how it lay.
TEST(ReplannedSheet, LeavesTheLogAsItLies) {
  SawPlan plan = samples::live_plan();
  const LogShape shape = samples::live_log();
  const auto face = take_face_widths(plan, shape, 2, widths_by_model(plan, shape, 2, -40.0));
  const auto before = sheet_reader::read(saw_sheet_html(plan, shape));
  EXPECT_FALSE(before.stages.front().raises.empty());
  const std::vector<sheet_reader::ReadCut> cuts = before.stages.front().cuts;
  plan.done = 2;
  plan.face_height = cuts[1].height;
  const std::string html = saw_sheet_html(plan, face.shape);
  EXPECT_TRUE(sheet_reader::read(html).stages.front().raises.empty());
  char lies[80];
  std::snprintf(lies, sizeof lies, "until the face of cut 2 lies <b>%g mm</b>", cuts[1].height);
  EXPECT_NE(html.find(lies), std::string::npos) << lies;
  // What comes off next is as thick as it was to be: the scale is counted from that face.
  const auto now = sheet_reader::read(html).stages.front().cuts;
  ASSERT_EQ(now.front().n, 3);
  EXPECT_EQ(now.front().height, cuts[2].height);
  EXPECT_EQ(now.back().height, cuts.back().height);
}

TEST(ReplannedSheet, EdgesNoFlitchTwice) {
  SawPlan plan = samples::live_plan();
  plan.done = plan.cuts.back().n;
  const auto read = sheet_reader::read(saw_sheet_html(plan, samples::live_log()));
  EXPECT_TRUE(read.stages.empty());
  EXPECT_TRUE(read.flitches.empty());
  EXPECT_TRUE(read.lengths.empty());
}

TEST(ReplannedSheet, KeepsTheLettersThatAreChalked) {
  SawPlan plan = samples::live_plan();
  const auto first = saw_steps(plan, samples::live_log());
  ASSERT_GE(first.flitches.size(), 2U);
  const Part& off = cut_in(first, 2).off;
  ASSERT_FALSE(off.letter.empty());
  plan.done = 2;
  plan.chalked = {{"gone", "A"}, {off.piece, "B"}};
  const auto now = saw_steps(plan, samples::live_log());
  EXPECT_EQ(cut_in(now, 2).off.letter, "B");
  for (const FlitchSteps& flitch : now.flitches) EXPECT_NE(flitch.letter, "A");
  const std::string html = saw_sheet_html(plan, samples::live_log());
  EXPECT_NE(html.find("nothing of the order is left in it"), std::string::npos);
}

TEST(ReplannedSheet, ThePlanFileSaysHowFarTheLogIsSawn) {
  SawPlan plan = samples::live_plan();
  EXPECT_EQ(plan_to_json(plan).find("\"done\""), std::string::npos);
  EXPECT_EQ(plan_to_json(plan).find("\"face_height\""), std::string::npos);
  plan.done = 2;
  plan.chalked = {{"f1", "A"}};
  plan.face_height = 123.5;
  const SawPlan read = plan_from_json(plan_to_json(plan), "plan.json");
  EXPECT_EQ(read.done, 2);
  EXPECT_EQ(read.face_height, 123.5);
  EXPECT_EQ(read.chalked, plan.chalked);
  EXPECT_EQ(plan_to_json(read), plan_to_json(plan));
}

}  // namespace
}  // namespace kerfwright
