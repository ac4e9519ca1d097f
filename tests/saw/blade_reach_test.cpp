#include "blade_reach.hpp"

#include <gtest/gtest.h>

#include <numbers>

#include "emit.hpp"
#include "planner.hpp"
#include "pose_search.hpp"
#include "shapes.hpp"

namespace kerfwright::saw {
namespace {

Mill mill_with(double lowest_cut) {
  Mill mill;
  mill.hourly_rate = 12;
  mill.minutes_per_turn = 5;
  mill.lowest_cut = lowest_cut;
  mill.bunks = {200, 1300};
  return mill;
}

int mill_setups(const SawPlan& plan) {
  return static_cast<int>(
      std::count_if(plan.setups.begin(), plan.setups.end(), [](const Setup& setup) {
        return setup.kind == SetupKind::log || setup.kind == SetupKind::cant;
      }));
}

/// What the search counts as turns is what is written: of a log with a thick slab below none, of
/// one that only has it above none either, since it is sawn the other way up.
TEST(BladeReach, AStackIsWrittenWithAsManyTurnsAsTheSearchPaidFor) {
  int turned = 0;
  int not_turned = 0;
  int other_way_up = 0;
  for (const double lowest : {20.0, 35.0, 45.0, 60.0}) {
    for (int i = 0; i < 12; ++i) {
      const LogShape shape = shapes::bowed(1500, 130.0 + i, 110, 3.0 * i);
      const Mill mill = mill_with(lowest);
      const Order order = shapes::boards(28, {700, 1400}, 60, 140, 20);
      const Wood wood = wood_of(shape, 1.0, 0.15);
      const HeightGrid grid = grid_of(wood, order, mill, 0.01);
      Catalogues catalogues(order, mill, prices_of(order, mill), grid, wood.length(), wood.reach(),
                            false);
      const Pose pose{0.5 * i, 0.0008 * i};
      LogPlan plan = PoseSearch(wood, catalogues.all(), pose).best_live(0.0);
      plan.settled = true;
      const SawPlan written = emit_plan(layout_of(plan, wood, catalogues), shape, order, mill);
      std::vector<StackItem> items;
      for (const FlitchClass& flitch : catalogues.all().classes) {
        items.push_back({flitch.strips, flitch.pitch});
      }
      const BladeReach reach = blade_reach(wood, catalogues.all(), pose, std::nullopt);
      const bool reached = within_reach(reach, items, plan.stack);
      EXPECT_EQ(mill_setups(written), reached ? 1 : 2) << lowest << " log " << i;
      (reached ? not_turned : turned) += 1;
      if (reached && plan.stack.items.front().bottom < reach.from_above) ++other_way_up;
    }
  }
  EXPECT_GT(turned, 2);
  EXPECT_GT(not_turned, 10);
  EXPECT_GT(other_way_up, 2);
}

TEST(BladeReach, IsTheBedUnderTheBarkAndTheLowestCut) {
  const LogShape shape = shapes::bowed(1500, 100, 100, 0);
  const Mill mill = mill_with(30);
  const Order order = shapes::boards(28, {700, 1400});
  const Wood wood = wood_of(shape, 1.0, 0.0);
  const HeightGrid grid = grid_of(wood, order, mill, 0.0);
  const Catalogue catalogue =
      catalogue_of(order, mill, prices_of(order, mill), grid, wood.length(), wood.reach());
  const BladeReach reach = blade_reach(wood, catalogue, {}, std::nullopt);
  EXPECT_NEAR(grid.height(reach.from_above), -100.0 + 30.0 + mill.kerf, grid.step + 0.1);
  EXPECT_NEAR(grid.height(reach.from_below), 100.0 - 30.0, grid.step + 0.1);
  EXPECT_DOUBLE_EQ(reach.turn_cost, 1.0);
  // A cant off the middle has less below it.
  const CantClip clip = cant_clip({}, 60.0, 30.0);
  const Pose second = quarter_turn({}, 0.0);
  const BladeReach cant = blade_reach(wood, catalogue, second, clip);
  EXPECT_NEAR(grid.height(cant.from_above), -80.0 + 30.0 + mill.kerf, grid.step + 4.0);
}

}  // namespace
}  // namespace kerfwright::saw
