#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>

#include "kerfwright/error.hpp"
#include "kerfwright/saw/plan_log.hpp"
#include "kerfwright/saw/replay.hpp"
#include "planner.hpp"
#include "shapes.hpp"

namespace kerfwright {
namespace {

using namespace saw;

PlanSettings live_within(double gap) {
  PlanSettings settings = shapes::quick();
  settings.patterns = {Pattern::live};
  settings.gap = gap;
  return settings;
}

TEST(ToldGap, StandsInAPlanThatAskedForAGap) {
  const LogShape shape = shapes::bowed(1500, 110, 95, 15);
  const SawPlan plan =
      plan_log(shape, shapes::boards(25, {700, 1400}, 80, 140, 30), Mill{}, live_within(10.0));
  ASSERT_TRUE(plan.totals.bound.has_value());
  EXPECT_GE(*plan.totals.bound, plan.totals.net);
  EXPECT_LE(*plan.totals.bound, plan.totals.net / 0.9 + 1e-9);
  EXPECT_GT(*plan.totals.bound_lift, 5.0);
  EXPECT_TRUE(replay(plan, shape).complete);
  EXPECT_NE(bound_words(plan)->find(" % of that"), std::string::npos);
}

/// A gap below what the first search proves makes it look on, so that the plan is never worse.
TEST(ToldGap, APlanWithAGapIsWorthNoLessThanOneWithout) {
  const LogShape shape = shapes::bowed(1200, 100, 80, 25);
  const Order order = shapes::boards(25, {500, 1100}, 80, 140, 30);
  PlanSettings without = live_within(3.0);
  without.gap.reset();
  const SawPlan plain = plan_log(shape, order, Mill{}, without);
  const SawPlan proven = plan_log(shape, order, Mill{}, live_within(3.0));
  EXPECT_FALSE(plain.totals.bound.has_value());
  EXPECT_GE(proven.totals.net, plain.totals.net);
}

TEST(ToldGap, IsTheSameOnOneThreadAndOnTwo) {
  const LogShape shape = shapes::bowed(1200, 100, 80, 25);
  const Order order = shapes::boards(25, {500, 1100}, 80, 140, 30);
  PlanSettings settings = live_within(4.0);
  settings.threads = 1;
  const SawPlan one = plan_log(shape, order, Mill{}, settings);
  settings.threads = 2;
  const SawPlan two = plan_log(shape, order, Mill{}, settings);
  EXPECT_EQ(*one.totals.bound, *two.totals.bound);
  EXPECT_EQ(one.totals.net, two.totals.net);
}

TEST(ToldGap, HoldsForCantsTooWhereTheyAreAllowed) {
  const LogShape shape = shapes::bowed(1200, 100, 80, 10);
  const Order order = shapes::boards(25, {500, 1100}, 80, 140, 30);
  PlanSettings settings = live_within(20.0);
  settings.patterns = {Pattern::live, Pattern::cant};
  const SawPlan plan = plan_log(shape, order, Mill{}, settings);
  ASSERT_TRUE(plan.totals.bound.has_value());
  EXPECT_EQ(plan.totals.bound_patterns, "live, cant");
  EXPECT_GE(*plan.totals.bound, plan.totals.net);
  EXPECT_NE(bound_words(plan)->find("through and through or with a cant whose"), std::string::npos);
  EXPECT_TRUE(replay(plan, shape).complete);
}

TEST(ToldGap, IsToldOfTheWaysThatHaveOneWhereOthersHaveNone) {
  const LogShape shape = shapes::bowed(1200, 100, 80, 10);
  const Order order = shapes::boards(25, {500, 1100}, 80, 140, 30);
  const SawPlan live = plan_log(shape, order, Mill{}, live_within(20.0));
  for (const Pattern other : {Pattern::around, Pattern::cross_cut}) {
    PlanSettings settings = live_within(20.0);
    settings.patterns = {Pattern::live, other};
    const SawPlan plan = plan_log(shape, order, Mill{}, settings);
    EXPECT_FALSE(plan.totals.bound.has_value());
    ASSERT_TRUE(plan.totals.bound_of_ways.has_value());
    EXPECT_EQ(plan.totals.bound_patterns, "live");
    EXPECT_GE(std::max(*plan.totals.bound_of_ways, live.totals.net), *live.totals.bound);
    EXPECT_GE(plan.totals.net, live.totals.net);
    EXPECT_NE(bound_words(plan)->find("other ways of sawing"), std::string::npos);
    settings.patterns = {other};
    EXPECT_FALSE(bound_words(plan_log(shape, order, Mill{}, settings)).has_value());
  }
}

/// Of two plans one is worth more on paper, the other when it is set a little wrong.
TEST(ToldGap, OfPlansWithAGapErrorsAreToldButDoNotChoose) {
  Planned on_paper, sure;
  on_paper.plan.boards.resize(1);
  sure.plan.boards.resize(1);
  on_paper.plan.totals.net = 100.0;
  sure.plan.totals.net = 95.0;
  on_paper.draws.assign(200, 60.0);
  sure.draws.assign(200, 90.0);
  PlanSettings settings;
  EXPECT_EQ(better_of(on_paper, sure, settings).plan.totals.net, 95.0);
  settings.gap = 5.0;
  EXPECT_EQ(better_of(on_paper, sure, settings).plan.totals.net, 100.0);
}

TEST(ToldGap, OfSomeWaysIsToldToo) {
  SawPlan plan;
  plan.totals.bound_of_ways = 100.0;
  plan.totals.bound_lift = 9.0;
  plan.totals.bound_patterns = "live, cant";
  plan.totals.net = 90.0;
  EXPECT_NE(bound_words(plan)->find("than 100.00 net, at any turn and with either end raised by up "
                                    "to 9 mm: this one is within 10.0 % of that. How much"),
            std::string::npos)
      << *bound_words(plan);
  plan.totals.net = 110.0;  // sawn otherwise
  EXPECT_NE(bound_words(plan)->find("than 100.00 net, at any turn and with either end raised by up "
                                    "to 9 mm: this one is. How much"),
            std::string::npos)
      << *bound_words(plan);
}

TEST(ToldGap, AGapThatIsNoneIsRefused) {
  const LogShape shape = shapes::bowed(1200, 100, 80, 10);
  const Order order = shapes::boards(25, {500, 1100});
  for (const double gap : {-1.0, 100.5, std::nan("")}) {
    EXPECT_THROW(plan_log(shape, order, Mill{}, live_within(gap)), UserError);
  }
  for (const double gap : {0.0, 100.0}) {
    PlanSettings settings = live_within(gap);
    int asked = 0;
    settings.watch.stop = [&asked] { return ++asked > 3000; };
    settings.threads = 1;
    EXPECT_FALSE(plan_log(shape, order, Mill{}, settings).boards.empty());
  }
}
}  // namespace
}  // namespace kerfwright
