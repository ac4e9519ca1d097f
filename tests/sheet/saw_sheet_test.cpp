#include "kerfwright/sheet/saw_sheet.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <random>
#include <regex>
#include <set>

#include "kerfwright/saw/plan_log.hpp"
#include "kerfwright/sheet/saw_steps.hpp"
#include "lengths.hpp"
#include "samples.hpp"
#include "saw/shapes.hpp"
#include "sawn_by_sheet.hpp"
#include "sheet_reader.hpp"

namespace kerfwright {
namespace {

/// A bent, bumpy, tapered log; bumps of some wavelengths stay the same with the same seed.
LogShape bumpy_log(unsigned seed, double length) {
  std::mt19937 random(seed);
  std::uniform_real_distribution<double> share(0.0, 1.0);
  samples::LogForm form;
  form.length = length;
  form.butt_radius = 130 + 70 * share(random);
  form.top_radius = form.butt_radius * (0.75 + 0.2 * share(random));
  form.bow = 50 * share(random);
  form.bow_direction = 360 * share(random);
  LogShape shape = samples::bowed_log(form);
  const double phase = 6.28 * share(random);
  for (std::size_t i = 0; i < shape.stations.size(); ++i) {
    for (std::size_t j = 0; j < 64; ++j) {
      const double angle = 6.2831853 * static_cast<double>(j) / 64;
      const double x = shape.stations[i];
      shape.radius[i][j] += static_cast<float>(4.0 * std::sin(3 * angle + phase + x / 400) +
                                               2.0 * std::sin(7 * angle - x / 150));
    }
  }
  return shape;
}

using shapes::product;

Order small_order() {
  Order order;
  order.products = {product("board", 27, 120, {900, 1200, 1800}, 500),
                    product("narrow board", 22, 80, {600, 900, 1500}, 350),
                    product("beam", 90, 120, {1800, 2400}, 520)};
  return order;
}

struct Job {
  std::string name;
  LogShape shape;
  SawPlan plan;
};

/// @param step of the mill's scale, mm; 0 = a scale of sixteenths of an inch
Job planned(unsigned seed, double kerf, double step, std::vector<Pattern> patterns) {
  Mill mill;
  mill.kerf = kerf;
  if (step > 0.0) mill.height_step = step;
  if (step == 0.0) mill = in_inches(mill);
  mill.bunks = {350, 1500};
  PlanSettings settings;
  settings.turn_step = 45;
  settings.lifts = 3;
  settings.patterns = std::move(patterns);
  Job job{
      "seed " + std::to_string(seed) + ", kerf " + std::to_string(kerf), bumpy_log(seed, 1900), {}};
  Order order = small_order();
  if (is_among(settings.patterns, Pattern::slabs)) {
    order.products.push_back(product("slab", 65, 170, {600, 900}, 900));
    order.products.back().live_edge = true;
  }
  job.plan = plan_log(job.shape, order, mill, settings);
  return job;
}

std::vector<Job> by_hand() {
  return {{"live", samples::live_log(), samples::live_plan()},
          {"cant", samples::cant_log(), samples::cant_plan()}};
}

/// A log bent by a tenth of its length: its flitches are cut across before they are edged.
Job bent(double bow_direction, bool inches = false) {
  samples::LogForm form;
  form.length = 2600;
  form.butt_radius = 150;
  form.top_radius = 125;
  form.bow = 150;
  form.bow_direction = bow_direction;
  PlanSettings settings;
  settings.turn_step = 45;
  settings.lifts = 3;
  settings.patterns = {Pattern::live};
  Job job{"bent", samples::bowed_log(form), {}};
  Order order;
  order.products = {product("board", 27, 120, {1150}, 500), product("lath", 22, 60, {1150}, 300)};
  job.plan = plan_log(job.shape, order, inches ? in_inches(Mill{}) : Mill{}, settings);
  return job;
}

std::vector<Job> jobs() {
  std::vector<Job> all = {{"live", samples::live_log(), samples::live_plan()},
                          {"cant", samples::cant_log(), samples::cant_plan()},
                          planned(1, 6.0, 1.0, {Pattern::live}),
                          planned(2, 8.0, 1.0, {Pattern::cant}),
                          planned(3, 2.5, 1.0, {Pattern::cant}),
                          planned(4, 2.5, 1.0, {Pattern::live}),
                          planned(5, 1.6, 0.5, {Pattern::live}),
                          planned(6, 8.0, 2.0, {Pattern::live}),
                          planned(7, 6.0, 1.0, {Pattern::cross_cut}),
                          planned(8, 6.0, 1.0, {Pattern::slabs}),
                          planned(9, 8.0, 1.0, {Pattern::live, Pattern::slabs}),
                          planned(8, 6.0, 1.0, {Pattern::around}),
                          planned(9, 2.5, 1.0, {Pattern::around}),
                          bent(0),
                          bent(70)};
  return all;
}

/// Sizes in inches, nominal ones among them, and in mm, sawn on a mill with a scale of sixteenths:
/// every number of the sheet is a whole sixteenth.
TEST(SawSheet, InInchesIsEnoughToSawNearlyTheWholeValueOfThePlan) {
  std::vector<Job> all = {planned(1, 6.0, 0, {Pattern::live}), planned(2, 6.35, 0, {Pattern::cant}),
                          planned(7, 6.0, 0, {Pattern::cross_cut}),
                          planned(9, 8.0, 0, {Pattern::live, Pattern::slabs}), bent(0, true)};
  const Order lumber = parse_order(R"(
[[product]]
name = "stud"
nominal = "2x4"
lengths = ["4 ft", "5 ft", "6 ft"]
price_per_m3 = 500
[[product]]
name = "board"
thickness = "1 in"
width = "5 1/2 in"
lengths = ["3 ft", "4 ft 6 in"]
price_per_m3 = 450
)",
                                   "lumber.toml");
  for (const unsigned seed : {11U, 12U, 13U, 14U, 15U}) {
    Mill mill = in_inches(Mill{});
    mill.kerf = seed == 13U ? 3.0 : 6.35;
    mill.bunks = {350, 1500};
    PlanSettings settings;
    settings.turn_step = 45;
    settings.lifts = 3;
    settings.patterns = {seed == 12U ? Pattern::cant : Pattern::live};
    Job job{"lumber " + std::to_string(seed), bumpy_log(seed, 1900), {}};
    job.plan = plan_log(job.shape, lumber, mill, settings);
    all.push_back(std::move(job));
  }
  for (const auto& [name, shape, plan] : all) {
    const std::string html = saw_sheet_html(plan, shape);
    const auto read = sheet_reader::read(html);
    const SawnBySheet sawn = saw_by_sheet(read, plan, shape);
    EXPECT_GE(sawn.value, 0.99 * plan.totals.value) << name << ", " << plan.pattern;
    for (const std::string& why : sawn.lost) std::cout << name << ": " << why << '\n';
    std::cout << name << ": " << 100.0 * sawn.value / plan.totals.value << " %\n";
    const auto is_whole = [](double mm) {
      const double sixteenths = mm / (25.4 / 16);
      return std::abs(sixteenths - std::round(sixteenths)) < 1e-6;
    };
    for (const auto& stage : read.stages) {
      for (const double raise : stage.raises) EXPECT_TRUE(is_whole(raise)) << name << " " << raise;
      for (const auto& cut : stage.cuts) EXPECT_TRUE(is_whole(cut.height)) << cut.height;
    }
    // What is told is what is meant: the steps themselves are whole sixteenths.
    const SawSteps steps = saw_steps(plan, shape);
    for (const FlitchSteps& flitch : steps.flitches) {
      for (const Lane& lane : flitch.lanes) {
        if (lane.side == Lane::Side::live) continue;
        EXPECT_TRUE(is_whole(lane.width)) << name << ", width " << lane.width;
        if (lane.side != Lane::Side::line) continue;
        for (const TapePoint& point : lane.line) {
          EXPECT_TRUE(is_whole(point.distance) && is_whole(point.place)) << name;
        }
        for (const Length& length : lane.boards) {
          EXPECT_TRUE(!length.cut_from || is_whole(length.from)) << name << " " << length.from;
          EXPECT_TRUE(is_whole(length.to - length.from)) << name;
        }
      }
    }
  }
}

TEST(SawSheet, IsEnoughToSawNearlyTheWholeValueOfThePlan) {
  std::set<std::string> patterns;
  int squared = 0;
  for (const auto& [name, shape, plan] : jobs()) {
    const auto read = sheet_reader::read(saw_sheet_html(plan, shape));
    // Nobody is asked to saw off less than the saw is wide.
    for (const auto& length : read.lengths) {
      EXPECT_EQ(length.square, length.from && *length.from < plan.mill.kerf) << name;
      squared += length.square ? 1 : 0;
    }
    const SawnBySheet sawn = saw_by_sheet(read, plan, shape);
    EXPECT_GE(sawn.value, 0.99 * plan.totals.value) << name << ", " << plan.pattern;
    patterns.insert(plan.pattern.substr(0, plan.pattern.find(',')));
    for (const std::string& why : sawn.lost) std::cout << name << ": " << why << '\n';
  }
  EXPECT_GT(squared, 0);
  EXPECT_TRUE(patterns.contains("live") && patterns.contains("cant") &&
              patterns.contains("slabs") && patterns.contains("cross-cut") &&
              patterns.contains("around"));
}

/// Boards thinner than the blade can come to the bed are sawn on a spacer (common practice, no
/// source): the heights count it, and sawing by the sheet gives the whole value.
TEST(SawSheet, AsksForNoCutLowerThanTheBladeCanCome) {
  Order thin;
  thin.products = {product("lath", 20, 80, {900, 1800}, 500),
                   product("board", 22, 110, {900, 1800}, 500)};
  int spacers = 0;
  for (const Pattern pattern : {Pattern::live, Pattern::cant, Pattern::quarter}) {
    Mill mill;
    mill.bunks = {350, 1500};
    mill.lowest_cut = 40;
    PlanSettings settings;
    settings.turn_step = 45;
    settings.lifts = 1;
    settings.patterns = {pattern, Pattern::live};
    const LogShape shape = bumpy_log(3, 1900);
    const SawPlan plan = plan_log(shape, thin, mill, settings);
    for (const Stage& stage : saw_steps(plan, shape).stages) {
      spacers += stage.spacer > 0.0 ? 1 : 0;
      for (const MillCut& cut : stage.cuts) {
        EXPECT_GE(cut.height, mill.lowest_cut - 0.5) << plan.pattern << ", cut " << cut.n;
      }
    }
    const auto read = sheet_reader::read(saw_sheet_html(plan, shape));
    EXPECT_GE(saw_by_sheet(read, plan, shape).value, 0.99 * plan.totals.value) << plan.pattern;
  }
  EXPECT_GT(spacers, 0);
}

/// A turn counts on from the setup before only for the wood that lay there.
TEST(SawSheet, CountsNoTurnFromAnotherPartOfTheLog) {
  const SawSteps cant = saw_steps(samples::cant_plan(), samples::cant_log());
  ASSERT_GE(cant.stages.size(), 2U);
  EXPECT_TRUE(cant.stages[1].turn_on);
  const Job job = planned(7, 6.0, 1.0, {Pattern::cross_cut});
  int parts = 0;
  std::string before;
  for (const Stage& stage : saw_steps(job.plan, job.shape).stages) {
    if (!stage.part || *stage.part == before) continue;
    before = *stage.part;
    EXPECT_FALSE(stage.turn_on) << before;
    ++parts;
  }
  EXPECT_GE(parts, 2);
}

TEST(SawSheet, TellsWhereAFlitchIsCutAcrossBeforeItIsEdged) {
  const Job job = bent(0);
  const auto read = sheet_reader::read(saw_sheet_html(job.plan, job.shape));
  ASSERT_FALSE(read.across.empty());
  for (const auto& across : read.across) {
    const Cut& cut = job.plan.cuts.at(static_cast<std::size_t>(across.n) - 1);
    EXPECT_EQ(job.plan.setups.at(static_cast<std::size_t>(cut.setup) - 1).kind,
              SetupKind::cross_cut);
    EXPECT_NEAR(across.place, cut.point.x(), 40.0);  // measured along the flitch, not the chord
  }
  int last = 0;  // flitches come in the order of the cuts, each cut across before it is ripped
  for (const FlitchSteps& flitch : saw_steps(job.plan, job.shape).flitches) {
    for (const AcrossCut& across : flitch.across) {
      EXPECT_GT(across.n, last);
      last = across.n;
    }
    int next = last;
    for (const Lane& lane : flitch.lanes) {
      for (const int n : lane.rips) {
        EXPECT_GT(n, last);
        next = std::max(next, n);
      }
    }
    last = next;
  }
  auto wrong = read;
  for (auto& across : wrong.across) across.place += 250;
  EXPECT_LT(saw_by_sheet(wrong, job.plan, job.shape).value,
            saw_by_sheet(read, job.plan, job.shape).value);
}

/// The drawing of a flitch and the cross-cut list are read one beside the other.
TEST(SawSheet, TheDrawingOfAFlitchEndsItsBoardsWhereTheListDoes) {
  auto [name, shape, plan] = bent(0);
  plan.mill = in_inches(plan.mill);
  const std::string html = saw_sheet_html(plan, shape);
  const sheet::Lengths lengths(plan.mill);
  int ends = 0;
  for (const FlitchSteps& flitch : saw_steps(plan, shape).flitches) {
    const auto begins = html.find("id=\"flitch-" + flitch.letter + "\"");
    ASSERT_NE(begins, std::string::npos);
    const std::string drawing = html.substr(begins, html.find("</svg>", begins) - begins);
    for (const Lane& lane : flitch.lanes) {
      const Length& last = lane.boards.back();
      if (!last.cut_to) continue;
      ++ends;
      EXPECT_NE(drawing.find(">" + lengths.number(last.to) + "<"), std::string::npos)
          << flitch.letter << ", " << lengths.number(last.to);
    }
  }
  EXPECT_GT(ends, 0);
}

/// So that sawing by the sheet is known to notice what is told wrongly.
TEST(SawSheet, ToldWrongItLosesBoards) {
  const auto [name, shape, plan] = planned(1, 6.0, 1.0, {Pattern::live});
  const auto read = sheet_reader::read(saw_sheet_html(plan, shape));
  const auto value = [&, &plan_ = plan, &shape_ = shape](const sheet_reader::ReadSheet& sheet) {
    return saw_by_sheet(sheet, plan_, shape_).value;
  };
  const double least = 0.99 * plan.totals.value;
  ASSERT_GE(value(read), least);
  auto higher = read;
  for (auto& cut : higher.stages[0].cuts) cut.height += 12;
  EXPECT_LT(value(higher), least);
  auto thinner = read;
  for (std::size_t i = 1; i < thinner.stages[0].cuts.size(); i += 2) {
    thinner.stages[0].cuts[i].height += 1;
  }
  EXPECT_LT(value(thinner), least);
  auto turned = read;
  turned.stages[0].turn += 20;
  EXPECT_LT(value(turned), least);
  auto blocked = read;
  blocked.stages[0].raises[1] += 25;
  EXPECT_LT(value(blocked), least);
  auto aside = read;
  for (auto& flitch : aside.flitches) {
    for (auto& lane : flitch.lanes) {
      if (!lane.distances.empty()) lane.distances.back() -= 25;
    }
  }
  EXPECT_LT(value(aside), least);
}

TEST(SawSheet, TellsEveryCutOnTheMillOnceAndInOrderWithAHeightTheMillCanSet) {
  for (const auto& [name, shape, plan] : by_hand()) {
    const auto read = sheet_reader::read(saw_sheet_html(plan, shape));
    std::vector<int> told;
    for (const auto& stage : read.stages) {
      for (const auto& cut : stage.cuts) {
        told.push_back(cut.n);
        const double steps = cut.height / plan.mill.height_step;
        EXPECT_NEAR(steps, std::round(steps), 1e-9) << name << ", cut " << cut.n;
        EXPECT_EQ(cut.faces.size(), stage.clock.empty() ? 0U : 3U);
      }
    }
    std::vector<int> planned;
    bool begun = false;
    for (const Cut& cut : plan.cuts) {
      const SetupKind kind = plan.setups[static_cast<std::size_t>(cut.setup - 1)].kind;
      const bool on_mill = kind == SetupKind::log || kind == SetupKind::cant;
      begun = begun || on_mill;
      if (on_mill || !begun) planned.push_back(cut.n);  // what comes first cuts the log to length
    }
    EXPECT_EQ(told, planned) << name;
  }
}

TEST(SawSheet, ListsEveryBoardOnceToBeCutToLength) {
  for (const auto& [name, shape, plan] : by_hand()) {
    const auto read = sheet_reader::read(saw_sheet_html(plan, shape));
    std::multiset<int> listed;
    for (const auto& length : read.lengths) listed.insert(length.board);
    std::multiset<int> wanted;
    for (const Board& board : plan.boards) wanted.insert(board.id);
    EXPECT_EQ(listed, wanted) << name;
  }
}

/// A shape begins where the section is whole, an oblique log before that.
TEST(SawSheet, TellsWhereDistancesCountFromBeforeTheFirstCut) {
  const std::string html = saw_sheet_html(samples::cant_plan(), samples::cant_log());
  const auto told = html.find("saw it square at its shortest side");
  ASSERT_NE(told, std::string::npos);
  EXPECT_LT(told, html.find("id=\"stage-1\""));
}

TEST(SawSheet, NeedsNothingFromElsewhere) {
  const std::string html = saw_sheet_html(samples::cant_plan(), samples::cant_log());
  EXPECT_TRUE(sheet_reader::read(html).addresses.empty());
  EXPECT_EQ(html.find("url(http"), std::string::npos);
  EXPECT_EQ(html.find("@import"), std::string::npos);
}

TEST(SawSheet, IsTheSameToTheByteEachTime) {
  const std::string once = saw_sheet_html(samples::cant_plan(), samples::cant_log());
  EXPECT_EQ(once, saw_sheet_html(samples::cant_plan(), samples::cant_log()));
}

TEST(SawSheet, KeepsNamesFromBecomingMarkup) {
  SawPlan plan = samples::live_plan();
  LogShape shape = samples::live_log();
  const std::string nasty = "<script>alert(1)</script>&\"";
  shape.source.file = nasty;
  plan.order.currency = nasty;
  for (Product& p : plan.order.products) p.name = nasty + p.name;
  for (Board& b : plan.boards) b.product = nasty + b.product;
  EXPECT_EQ(saw_sheet_html(plan, shape).find("<script>alert"), std::string::npos);
}

TEST(SawSheet, CountsOnWhereAPlanBeginsWithALaterCut) {
  SawPlan plan = samples::cant_plan();
  for (Cut& cut : plan.cuts) {
    cut.n += 7;
    cut.setup += 3;
  }
  for (auto& setup : plan.setups) setup.n += 3;
  const auto read = sheet_reader::read(saw_sheet_html(plan, samples::cant_log()));
  EXPECT_EQ(read.stages.front().setup, 4);
  EXPECT_EQ(read.stages.front().cuts.front().n, 8);
}

/// A round log of radius 152 under bark, bowed in the plane of the bed: chords are known.
TEST(SawSteps, FaceWidthsAreChordsOfTheLog) {
  const SawSteps steps = saw_steps(samples::live_plan(), samples::live_log());
  const MillCut& first = steps.stages.at(0).cuts.at(0);
  const double face = 84 - 3;  // lower side of the first cut, over the axis
  const double chord = 2 * std::sqrt(152.0 * 152.0 - face * face);
  for (const FaceWidth& width : first.face) {
    ASSERT_TRUE(width.width.has_value());
    EXPECT_NEAR(*width.width, chord, 1.5);  // the outline has 64 corners; the height is rounded
    EXPECT_GT(width.within, 1.0);
    EXPECT_LT(width.within, 12.0);
  }
}

TEST(SawSteps, ALogOnItsBunksIsBlockedUpWhereItTapers) {
  // Radius 170 at the butt, 150 at the top, level: underside 20 mm x 2200 / 2500 apart at the
  // bunks.
  SawPlan plan = samples::cant_plan();
  plan.mill.bunks = {100, 2300};
  plan.setups[0].lift_top = 0;
  for (Cut& cut : plan.cuts) {
    if (cut.setup == 1) {
      const Eigen::Vector3d up = setup_up(plan.setups[0], 2500);
      cut.point = cut.normal.dot(cut.point) * up;
      cut.normal = up;
    }
  }
  const SawSteps steps = saw_steps(plan, samples::cant_log());
  ASSERT_EQ(steps.stages[0].supports.size(), 2U);
  EXPECT_NEAR(steps.stages[0].supports[0].raise, 0.0, 1.0);
  EXPECT_NEAR(steps.stages[0].supports[1].raise, 17.6, 2.0);
}

TEST(SawSteps, ALogShorterThanTheBunksIsBlockedUpAtItsEnd) {
  SawPlan plan = samples::cant_plan();
  plan.mill.bunks = {400, 3600};
  const SawSteps steps = saw_steps(plan, samples::cant_log());
  EXPECT_FALSE(steps.stages[0].supports[0].beyond);
  EXPECT_TRUE(steps.stages[0].supports[1].beyond);
  EXPECT_DOUBLE_EQ(steps.stages[0].supports[1].place, 2500.0);
  EXPECT_NE(saw_sheet_html(plan, samples::cant_log()).find("too short for the bunks"),
            std::string::npos);
}

TEST(SawSteps, ACantLiesWithItsSawnFacesLeftAndRight) {
  const SawSteps steps = saw_steps(samples::cant_plan(), samples::cant_log());
  const Stage& cant = steps.stages.at(2);
  EXPECT_EQ(cant.kind, SetupKind::cant);
  ASSERT_EQ(cant.faces.size(), 2U);
  EXPECT_NEAR(cant.faces[0].clock, 90, 1.0);  // was up, then turned on by a quarter
  EXPECT_NEAR(cant.faces[1].clock, 270, 1.0);
}

TEST(SawSteps, WhatWasTurnedOverRestsOnItsFaceAndIsSawnToItsThickness) {
  const SawSteps steps = saw_steps(samples::cant_plan(), samples::cant_log());
  const Stage& second = steps.stages.at(1);
  EXPECT_TRUE(second.on_face);
  // From the face of cut 2 to the lower side of cut 4: the cant of 156 less one kerf of 6.
  EXPECT_NEAR(second.cuts.back().height, 150.0, 1.0);
}

}  // namespace
}  // namespace kerfwright
