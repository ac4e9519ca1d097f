// Plans sawn again with errors of setting. All logs are invented: round sections, known exactly, so
// that only the setting is wrong.

#include "setting_errors.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>

#include "saw/shapes.hpp"
#include "slipped_cuts.hpp"

namespace kerfwright {
namespace {

using shapes::boards;
using shapes::bowed;
using shapes::quick;

Mill mill_with(double turn, double lift, double blade) {
  Mill mill;
  mill.turn_error = turn;
  mill.lift_error = lift;
  mill.blade_error = blade;
  return mill;
}

PlanSettings drawn(int draws = 60) {
  PlanSettings settings = quick();
  settings.lifts = 1;
  settings.patterns = {Pattern::live, Pattern::cant};
  settings.draws = draws;
  return settings;
}

TEST(SettingErrors, GiveTheSamePlanAndTheSameFiguresOnAnyNumberOfThreads) {
  const LogShape log = bowed(1300, 120, 110, 20);
  const Order order = boards(30, {600, 1200}, 100, 150, 50);
  PlanSettings settings = drawn();
  settings.threads = 1;
  const SawPlan one = plan_log(log, order, Mill{}, settings);
  settings.threads = 3;
  const SawPlan three = plan_log(log, order, Mill{}, settings);
  ASSERT_EQ(one.boards.size(), three.boards.size());
  EXPECT_EQ(one.totals.expected, three.totals.expected);
  EXPECT_EQ(one.totals.q10, three.totals.q10);
  for (std::size_t i = 0; i < one.boards.size(); ++i) {
    EXPECT_EQ(one.boards[i].chance, three.boards[i].chance);
    EXPECT_EQ(one.boards[i].corner, three.boards[i].corner);
  }
}

TEST(SettingErrors, OfZeroLeaveTheValueAsItIs) {
  const SawPlan plan =
      plan_log(bowed(2450, 150, 150, 0), boards(25, {2400}), mill_with(0, 0, 0), drawn());
  ASSERT_TRUE(plan.totals.expected.has_value());
  EXPECT_NEAR(*plan.totals.expected, plan.totals.net, 1e-9);
  EXPECT_NEAR(*plan.totals.q10, plan.totals.net, 1e-9);
  for (const Board& board : plan.boards) EXPECT_EQ(board.chance, 1.0);
}

TEST(SettingErrors, CostMoreTheGreaterTheyAre) {
  const LogShape log = bowed(1300, 120, 105, 20);
  const Order order = boards(30, {600, 1200}, 100, 150, 50);
  const auto expected = [&](double times) {
    return *plan_log(log, order, mill_with(2 * times, 3 * times, times), drawn()).totals.expected;
  };
  const double none = expected(0.0);
  const double usual = expected(1.0);
  const double large = expected(4.0);
  EXPECT_LT(usual, none);
  EXPECT_LT(large, 0.97 * usual);
}

TEST(SettingErrors, SpoilABeamThatFillsItsLogButNotOneWithWoodToSpare) {
  // A square of 100 mm needs a circle of 70.7 mm radius.
  Order order;
  order.products = {shapes::product("beam", 100, 100, {2000}, 500)};
  PlanSettings settings = quick();
  settings.draws = 200;
  const auto chance = [&](double radius) {
    const SawPlan plan = plan_log(bowed(2100, radius, radius, 0), order, Mill{}, settings);
    return *plan.boards.front().chance;
  };
  EXPECT_LT(chance(71.5), 0.5);
  EXPECT_GT(chance(85.0), 0.98);
}

TEST(SettingErrors, TellChancesAndQuantilesThatCanBe) {
  const SawPlan plan =
      plan_log(bowed(1300, 120, 105, 20), boards(30, {600, 1200}, 100, 150, 50), Mill{}, drawn());
  double by_chances = 0.0;
  for (const Board& board : plan.boards) {
    ASSERT_TRUE(board.chance.has_value());
    EXPECT_GE(*board.chance, 0.0);
    EXPECT_LE(*board.chance, 1.0);
    by_chances += *board.chance * board.value;
  }
  // What is there in its place fetches at least as much, and other boards may come besides.
  EXPECT_LE(by_chances, *plan.totals.expected + 1e-9);
  EXPECT_LE(*plan.totals.q10, *plan.totals.expected);
  EXPECT_GT(*plan.totals.q10, 0.0);
}

TEST(SettingErrors, AreNotToldWhereNoneAreDrawn) {
  const SawPlan plan = plan_log(bowed(2450, 150, 150, 0), boards(25, {2400}), Mill{}, quick());
  EXPECT_FALSE(plan.totals.expected.has_value());
  EXPECT_FALSE(plan.totals.q10.has_value());
  EXPECT_FALSE(plan.boards.front().chance.has_value());
}

TEST(SettingErrors, PayPiecesByTheKnotsThatTheyHold) {
  LogShape log = bowed(1300, 130, 130, 0);
  for (const double x : {300.0, 700.0, 1000.0}) {
    log.marks.knots.push_back({{x, 130, 0}, {x, 0, 0}, 40, true});
  }
  Order order = boards(27, {600, 1200}, 80, 160, 40);
  for (Product& product : order.products) product.grades = Grades{1.0, 0.6, 0.3, 0.0};
  const SawPlan plan = plan_log(log, order, mill_with(0, 0, 0), drawn());
  LogShape clear = log;
  clear.marks = {};
  const SawPlan without = plan_log(clear, order, mill_with(0, 0, 0), drawn());
  ASSERT_TRUE(plan.totals.expected.has_value());
  EXPECT_GE(*plan.totals.expected, plan.totals.net - 1e-6);
  EXPECT_LT(*plan.totals.expected, 1.1 * plan.totals.net);
  EXPECT_LT(*plan.totals.expected, 0.98 * *without.totals.expected);
}

TEST(SettingErrors, ArePartOfAPlanInPartsToo) {
  PlanSettings settings = drawn();
  settings.patterns = {Pattern::live, Pattern::cross_cut};
  const SawPlan plan =
      plan_log(bowed(2500, 100, 85, 180), boards(30, {600, 1200}, 100, 150, 50), Mill{}, settings);
  EXPECT_TRUE(plan.pattern.starts_with(pattern_name(Pattern::cross_cut))) << plan.pattern;
  ASSERT_TRUE(plan.totals.expected.has_value());
  EXPECT_GT(*plan.totals.expected, 0.5 * plan.totals.net);
  EXPECT_LT(*plan.totals.expected, 1.1 * plan.totals.net);
  for (const Board& board : plan.boards) EXPECT_TRUE(board.chance.has_value());
}

TEST(SettingErrors, DoNotTiltWhatLiesOnASawnFace) {
  // Turned and lifted wrongly, but with a blade that is true: all cuts of live sawing stay parallel
  // and as far from each other as planned, after half a turn too.
  const LogShape log = bowed(2450, 150, 130, 20);
  const SawPlan plan = plan_log(log, boards(25, {2400}), Mill{}, quick());
  const saw::SlippedCuts cuts(plan, log.length());
  const auto meant = cuts.planned();
  const auto sawn = cuts.draw(saw::Luck(7, 3), {0.05, 4.0, 0.0, false});
  std::size_t first = 0;
  std::size_t on_mill = 0;
  for (std::size_t i = 0; i < plan.cuts.size(); ++i) {
    if (!cuts.on_mill(i)) continue;
    if (on_mill++ == 0) first = i;
    const double side = meant[i].up.dot(meant[first].up) > 0.0 ? 1.0 : -1.0;
    EXPECT_NEAR((side * sawn[i].up - sawn[first].up).norm(), 0.0, 1e-9);
    EXPECT_NEAR(side * sawn[i].height - sawn[first].height,
                side * meant[i].height - meant[first].height, 1e-6);
  }
  EXPECT_GT(on_mill, 3U);
  EXPECT_GT((sawn[first].up - meant[first].up).norm(), 1e-4);
}

TEST(SettingErrors, DoNotTiltWhatAFaceThatIsUpAgainWouldTell) {
  // Sawn around: a slab, a second one after a quarter turn, then the first face once more, then
  // half a turn on it. Only what the piece lies on or stands against tells how it lies.
  SawPlan plan;
  const Eigen::Vector3d z(0, 0, 1), y(0, 1, 0);
  const std::vector<Eigen::Vector3d> ups = {z, y, z, -z};
  std::string left = "log";
  for (int n = 1; n <= 4; ++n) {
    kerfwright::Setup setup;
    setup.n = n;
    setup.kind = SetupKind::log;
    plan.setups.push_back(setup);
    Cut cut;
    cut.n = cut.setup = n;
    cut.piece = left;
    cut.normal = ups[static_cast<std::size_t>(n) - 1];
    cut.point = cut.normal * (n == 3 ? 60 : 100);
    cut.above = "off" + std::to_string(n);
    cut.below = left = "left" + std::to_string(n);
    plan.cuts.push_back(cut);
  }
  const saw::SlippedCuts cuts(plan, 2000);
  const auto sawn = cuts.draw(saw::Luck(7, 3), {0.05, 4.0, 0.0, false});
  EXPECT_GT(std::abs(sawn[2].height - 60 - (sawn[0].height - 100)), 0.01);
  EXPECT_NEAR((sawn[3].up + sawn[2].up).norm(), 0.0, 1e-9);
  EXPECT_NEAR(sawn[3].height - 100, -(sawn[2].height - 60), 1e-9);
}

TEST(SettingErrors, OfZeroLeaveFlitchesWithLeaningLanesTheirValue) {
  // A crook whose flitches are worth most cross-cut first, each half with lanes of its own lean.
  PlanSettings settings = drawn(5);
  settings.patterns = {Pattern::live};
  const SawPlan plan = plan_log(bowed(2600, 130, 120, 120), boards(30, {600, 1200}, 100, 150, 50),
                                mill_with(0, 0, 0), settings);
  const kerfwright::Setup& first = plan.setups.front();
  const bool leans = std::any_of(plan.boards.begin(), plan.boards.end(), [&](const Board& board) {
    return first.lift_top == 0.0 && first.lift_butt == 0.0 && board.along.x() < 0.99999;
  });
  ASSERT_TRUE(leans);
  EXPECT_GE(*plan.totals.expected, plan.totals.net - 1e-6);
  EXPECT_LT(*plan.totals.expected, 1.05 * plan.totals.net);
  for (const Board& board : plan.boards) EXPECT_EQ(board.chance, 1.0);
}

Order slabs_and_boards() {
  Order order = boards(30, {600, 1200}, 100, 150, 50);
  Product slab = shapes::product("slab", 52, 140, {1200}, 900);
  slab.live_edge = true;
  order.products.push_back(slab);
  return order;
}

TEST(SettingErrors, OfZeroLeaveSlabsTheirValue) {
  PlanSettings settings = drawn();
  settings.patterns = {};
  for (const double bow : {0.0, 20.0}) {
    const SawPlan plan =
        plan_log(bowed(1300, 140, 120, bow), slabs_and_boards(), mill_with(0, 0, 0), settings);
    const auto is_slab = [](const Board& board) { return board.product == "slab"; };
    ASSERT_TRUE(std::any_of(plan.boards.begin(), plan.boards.end(), is_slab));
    ASSERT_TRUE(plan.totals.expected.has_value());
    // Places are in whole mm and widths in tenths, which begin elsewhere in the drawn wood.
    EXPECT_NEAR(*plan.totals.expected, plan.totals.net, 0.003 * plan.totals.value);
    for (const Board& board : plan.boards) EXPECT_EQ(board.chance, 1.0) << board.product;
  }
}

TEST(SettingErrors, CostSlabsThatAreJustWideEnoughMoreThanWideOnes) {
  PlanSettings settings = quick();
  settings.draws = 200;
  const auto least_chance = [&](double least_width) {
    Order order;
    Product slab = shapes::product("slab", 60, least_width, {2000}, 900);
    slab.live_edge = true;
    order.products = {slab};
    const SawPlan plan = plan_log(bowed(2100, 100, 100, 0), order, Mill{}, settings);
    const auto least =
        std::min_element(plan.boards.begin(), plan.boards.end(),
                         [](const Board& a, const Board& b) { return *a.chance < *b.chance; });
    return *least->chance;
  };
  // A slab of 60 mm about the middle of a circle of 100 mm radius is 190.8 mm wide; one of 170 mm
  // may lie 22 mm off it, and a second beside it would be too narrow.
  EXPECT_LT(least_chance(190.0), 0.5);
  EXPECT_GT(least_chance(170.0), 0.95);
}

TEST(SettingErrors, OfZeroLeaveWhatIsSawnAroundItsValue) {
  PlanSettings settings = drawn(5);
  settings.patterns = {Pattern::around};
  const SawPlan plan = plan_log(bowed(1250, 110, 105, 10), boards(30, {600, 1200}, 100, 100),
                                mill_with(0, 0, 0), settings);
  EXPECT_EQ(plan.pattern, "around");
  EXPECT_GE(*plan.totals.expected, plan.totals.net - 1e-6);
  EXPECT_LT(*plan.totals.expected, 1.05 * plan.totals.net);
  for (const Board& board : plan.boards) EXPECT_EQ(board.chance, 1.0);
}

/// 200 draws about a mean that vary together with `luck`, and by themselves.
std::vector<double> nets(double mean, double together, double alone, std::uint64_t seed) {
  std::vector<double> all;
  for (int draw = 0; draw < 200; ++draw) {
    const double both = saw::Luck(1, draw).normal(saw::Slip::turn, 1);
    const double own = saw::Luck(seed, draw).normal(saw::Slip::turn, 2);
    all.push_back(mean + together * both + alone * own);
  }
  return all;
}

TEST(SettingErrors, CostNoValueOnPaperForWhatIsNoise) {
  const auto better = [](const std::vector<double>& a, double net_a, const std::vector<double>& b,
                         double net_b) {
    return saw::better_in_the_mean({a, net_a}, {b, net_b});
  };
  const std::vector<double> level = nets(100.0, 5.0, 0.0, 2);
  EXPECT_TRUE(better(level, 120.0, nets(100.4, 5.0, 0.0, 3), 110.0));
  EXPECT_FALSE(better(nets(100.4, 5.0, 0.0, 3), 110.0, level, 120.0));
  EXPECT_FALSE(better(level, 110.0, level, 110.0));
  // All that varies varies in both: 1 % is told by every draw.
  EXPECT_FALSE(better(level, 120.0, nets(101.0, 5.0, 0.0, 3), 110.0));
  EXPECT_TRUE(better(nets(101.0, 5.0, 0.0, 3), 110.0, level, 120.0));
  // Each varies by itself: the standard error of the difference is 10 sqrt(2 / 200) = 1.0.
  EXPECT_TRUE(better(nets(100.0, 0.0, 10.0, 2), 120.0, nets(101.0, 0.0, 10.0, 3), 110.0));
  EXPECT_FALSE(better(nets(100.0, 0.0, 10.0, 2), 120.0, nets(105.0, 0.0, 10.0, 3), 110.0));
}

TEST(SettingErrors, AreNormalAndTheirOwnInEachDraw) {
  double sum = 0.0;
  double squares = 0.0;
  constexpr int count = 20000;
  for (int draw = 0; draw < count; ++draw) {
    const double value = saw::Luck(1, draw).normal(saw::Slip::turn, 1);
    sum += value;
    squares += value * value;
  }
  EXPECT_NEAR(sum / count, 0.0, 0.03);  // four standard errors
  EXPECT_NEAR(squares / count, 1.0, 0.04);
  EXPECT_NE(saw::Luck(1, 0).normal(saw::Slip::turn, 1), saw::Luck(2, 0).normal(saw::Slip::turn, 1));
  EXPECT_NE(saw::Luck(1, 0).normal(saw::Slip::turn, 1), saw::Luck(1, 0).normal(saw::Slip::turn, 2));
}

TEST(SettingErrors, HaveAQuantileBetweenNeighbours) {
  EXPECT_EQ(saw::quantile({5, 1, 3, 2, 4}, 0.5), 3.0);
  EXPECT_DOUBLE_EQ(saw::quantile({10, 0}, 0.1), 1.0);
}

}  // namespace
}  // namespace kerfwright
