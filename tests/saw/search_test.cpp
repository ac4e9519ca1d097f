#include "search.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <numbers>
#include <random>

#include "kerfwright/error.hpp"
#include "kerfwright/sheet/plan_file.hpp"
#include "plan_if_any.hpp"
#include "planner.hpp"
#include "shapes.hpp"

namespace kerfwright {
namespace {

using namespace saw;

/// A bent log (invented) that tapers, fluted a little so that turns differ.
LogShape fluted(unsigned seed) {
  std::mt19937 draw(seed);
  const auto drawn = [&](double low, double high) {
    return std::uniform_real_distribution<double>(low, high)(draw);
  };
  LogShape shape = shapes::bowed(drawn(1500, 2500), drawn(90, 120), drawn(70, 90), drawn(5, 40));
  const double deep = drawn(2, 10), shift = drawn(0, 6);
  for (auto& radii : shape.radius) {
    for (std::size_t j = 0; j < radii.size(); ++j) {
      radii[j] +=
          static_cast<float>(deep * std::cos(3.0 * 6.2832 * static_cast<double>(j) / 64.0 + shift));
    }
  }
  return shape;
}

Order small_sizes() {
  Order order;
  order.products = {shapes::product("joist", 40, 120, {900, 1400}, 450),
                    shapes::product("stud", 40, 60, {700, 1400}, 380),
                    shapes::product("board", 20, 90, {500, 900, 1400}, 420)};
  return order;
}

void expect_same(const LogPlan& a, const LogPlan& b) {
  EXPECT_EQ(a.worth, b.worth);
  EXPECT_EQ(a.pose.roll, b.pose.roll);
  EXPECT_EQ(a.pose.slope, b.pose.slope);
  ASSERT_EQ(a.stack.items.size(), b.stack.items.size());
  for (std::size_t i = 0; i < a.stack.items.size(); ++i) {
    EXPECT_EQ(a.stack.items[i].item, b.stack.items[i].item);
    EXPECT_EQ(a.stack.items[i].bottom, b.stack.items[i].bottom);
  }
}

// What an order over many logs asks: few poses, of which the best one or two are written.
TEST(SearchLive, OfFewPosesKeepsTheBestOfAll) {
  Mill mill;
  mill.hourly_rate = 20.0;
  const Order order = small_sizes();
  for (unsigned seed = 1; seed <= 12; ++seed) {
    const LogShape shape = fluted(seed);
    PlanSettings settings = shapes::quick();
    settings.turn_step = 30.0;
    settings.lifts = seed % 3 == 0 ? 1 : 3;  // 6 poses, or 18: more than a batch
    const Wood wood = wood_of(shape, 1.0, 0.15);
    SearchSpace space = space_of(shape, mill, settings);
    const HeightGrid grid = grid_of(wood, order, mill, space.slopes.back());
    const Catalogue catalogue =
        catalogue_of(order, mill, prices_of(order, mill), grid, wood.length(), wood.reach());
    std::vector<LogPlan> all;
    for (int turn = 0; turn < space.turns; ++turn) {
      for (const double slope : space.slopes) {
        const Pose pose{turn * std::numbers::pi / space.turns, slope};
        all.push_back(PoseSearch(wood, catalogue, pose).best_live(0.0));
      }
    }
    std::stable_sort(all.begin(), all.end(),
                     [](const LogPlan& a, const LogPlan& b) { return a.worth > b.worth; });
    for (const int keep : {1, 2, 5}) {
      space.keep = keep;
      const auto kept = search_live(wood, catalogue, space);
      if (all.size() <= 16) {
        ASSERT_EQ(kept.size(), static_cast<std::size_t>(keep)) << seed;
        for (std::size_t i = 0; i < kept.size(); ++i) expect_same(kept[i], all[i]);
      } else {
        ASSERT_FALSE(kept.empty()) << seed;
        expect_same(kept.front(), all.front());
      }
    }
  }
}

TEST(PlanIfAny, IsThePlanOrNothing) {
  const LogShape shape = fluted(1);
  PlanSettings settings = shapes::quick();
  settings.patterns = {Pattern::live};
  const auto plan = plan_if_any(shape, small_sizes(), Mill{}, settings);
  ASSERT_TRUE(plan);
  EXPECT_EQ(plan_to_json(*plan), plan_to_json(plan_log(shape, small_sizes(), Mill{}, settings)));
  Order great;
  great.products = {shapes::product("beam", 300, 300, {900}, 450)};
  EXPECT_FALSE(plan_if_any(shape, great, Mill{}, settings));
  EXPECT_THROW(plan_log(shape, great, Mill{}, settings), UserError);
}

}  // namespace
}  // namespace kerfwright
