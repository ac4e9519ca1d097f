#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <numbers>
#include <vector>

#include "free_stack.hpp"
#include "kerfwright/saw/value_by_turn.hpp"
#include "planner.hpp"
#include "pose_search.hpp"
#include "shapes.hpp"

/// Published findings about how a log is turned and lifted, on invented logs of simple form:
/// direction, and size where one was published.
namespace kerfwright::saw {
namespace {

std::vector<double> worths_by_turn(const LogShape& shape, const Order& order) {
  std::vector<double> worths;
  for (const TurnWorth& turn : value_by_turn(shape, order, Mill{}, 36)) {
    worths.push_back(turn.worth);
  }
  return worths;
}

/// With lanes that lean and flitches cross-cut before they are ripped, as plans are written.
std::vector<double> free_worths_by_turn(const LogShape& shape, const Order& order) {
  const Wood wood = wood_of(shape, 1.0, 0.15);
  const Mill mill;
  const HeightGrid grid = grid_of(wood, order, mill, 0.0);
  const Catalogue catalogue =
      catalogue_of(order, mill, prices_of(order, mill), grid, wood.length(), wood.reach());
  std::vector<double> worths;
  for (int turn = 0; turn < 36; ++turn) {
    const Pose pose{std::numbers::pi * turn / 36, 0.0};
    const LogPlan level = PoseSearch(wood, catalogue, pose).best_live(0.0);
    worths.push_back(freely_edged(wood, catalogue, level, 0.0).worth);
  }
  return worths;
}

double mean(const std::vector<double>& values) {
  double sum = 0.0;
  for (const double value : values) sum += value;
  return sum / static_cast<double>(values.size());
}

Order framing() { return shapes::boards(40, {1200, 1900, 2900}, 75, 225, 50); }

TEST(SettingFindings, AStraightRoundLogYieldsTheSameInAnyTurn) {
  // Geometry; a polygon of 64 sides is round to 0.1 %.
  const auto worths = worths_by_turn(shapes::bowed(3000, 155, 145, 0), framing());
  const auto [least, most] = std::minmax_element(worths.begin(), worths.end());
  EXPECT_GT(*least, 0.995 * *most);
}

TEST(SettingFindings, AnErrorOfFewDegreesLeavesMostOfTheGainOfTurningAndFifteenNone) {
  // The standard deviation of the turn should be under 2 degrees; that of automatic turners, 10 to
  // 15 degrees, is too much (Baltic Forestry 13(2), 2007, p. 221-228). No percentages were seen;
  // ours: of what turning is worth over a turn at random, 2 degrees lose 2 %, 15 nine tenths.
  double gain = 0.0;
  double lost_by_few = 0.0;
  double lost_by_many = 0.0;
  for (const double sweep : {30.0, 60.0, 90.0}) {
    const LogShape log = shapes::bowed(3000, 155, 145, sweep);
    PlanSettings settings = shapes::quick();
    settings.patterns = {Pattern::live};
    settings.lifts = 1;
    settings.draws = 200;
    const auto expected = [&](double turn) {
      Mill mill;
      mill.turn_error = turn;
      mill.lift_error = mill.blade_error = 0.0;
      return *plan_log(log, framing(), mill, settings).totals.expected;
    };
    const double exact = expected(0.0);
    gain += exact - mean(free_worths_by_turn(log, framing()));
    lost_by_few += exact - expected(2.0);
    lost_by_many += exact - expected(15.0);
  }
  EXPECT_GT(gain, 0.0);
  EXPECT_LT(lost_by_few, 0.5 * gain);
  EXPECT_GT(lost_by_many, 0.75 * gain);
}

TEST(SettingFindings, HalfTaperIsAtLeastAsGoodAsOffset) {
  // Half-taper (both end centres at one height) gives at least as much as offset (the lower side
  // along the bed) at every turn: New Zealand J. of Forestry Science, 100 logs, 37 rotations.
  // Here stacks and edging are free, which makes up for much: 24 of 36 turns, and 0.1 % in the
  // mean.
  double half_sum = 0.0;
  double offset_sum = 0.0;
  int better = 0;
  int turns = 0;
  for (const double sweep : {0.0, 15.0, 45.0}) {
    const LogShape shape = shapes::bowed(3000, 160, 140, sweep);
    const Wood wood = wood_of(shape, 0.0, 0.05);
    const Order order = framing();
    const Mill mill;
    const HeightGrid grid = grid_for(wood, 1.0, 0.01);
    const Catalogue catalogue =
        catalogue_of(order, mill, prices_of(order, mill), grid, wood.length(), wood.reach());
    CantSearch search;
    search.slopes = {0.0};
    search.step = 4;
    for (int k = 0; k < 12; ++k) {
      const double roll = 2.0 * std::numbers::pi * k / 12;
      const auto worth = [&](double slope) {
        return PoseSearch(wood, catalogue, Pose{roll, slope}).best_with_cants(search, 0.0).worth;
      };
      const double half = worth(0.0);
      const double offset = worth((160.0 - 140.0) / 3000.0);
      half_sum += half;
      offset_sum += offset;
      better += half >= offset - 1e-6 ? 1 : 0;
      ++turns;
    }
  }
  EXPECT_GE(half_sum, offset_sum);
  EXPECT_GE(better, turns / 2);
}

}  // namespace
}  // namespace kerfwright::saw
