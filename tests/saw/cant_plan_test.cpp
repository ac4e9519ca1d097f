#include <gtest/gtest.h>

#include <cmath>
#include <map>
#include <set>

#include "kerfwright/error.hpp"
#include "kerfwright/saw/plan_log.hpp"
#include "kerfwright/saw/replay.hpp"
#include "shapes.hpp"

namespace kerfwright {
namespace {

PlanSettings only(std::vector<Pattern> patterns) {
  PlanSettings settings = shapes::quick();
  settings.patterns = std::move(patterns);
  return settings;
}

/// A log that is flatter than it is wide by 2 x `by` mm on each side.
LogShape oval(double length, double radius, double by) {
  LogShape shape = shapes::bowed(length, radius, radius, 0);
  for (auto& section : shape.radius) {
    for (std::size_t j = 0; j < section.size(); ++j) {
      const double angle = 2.0 * std::acos(-1.0) * static_cast<double>(j) / 64.0;
      section[j] += static_cast<float>(by * std::cos(2.0 * angle));
    }
  }
  return shape;
}

/// The cuts that a piece came of, the last first.
std::vector<const Cut*> ancestry(const SawPlan& plan, std::string piece) {
  std::vector<const Cut*> cuts;
  for (auto cut = plan.cuts.rbegin(); cut != plan.cuts.rend(); ++cut) {
    if (cut->above != piece && cut->below != piece) continue;
    cuts.push_back(&*cut);
    piece = cut->piece;
  }
  return cuts;
}

SetupKind kind_of(const SawPlan& plan, const Cut& cut) {
  return plan.setups[static_cast<std::size_t>(cut.setup) - 1].kind;
}

/// Pieces that lie under the saw as cants.
std::set<std::string> cants_of(const SawPlan& plan) {
  std::set<std::string> cants;
  for (const Cut& cut : plan.cuts) {
    if (cut.piece.starts_with("cant")) cants.insert(cut.piece);
  }
  return cants;
}

TEST(CantPlan, IsSawnWhenAskedForAloneThoughThroughAndThroughFetchesNoLess) {
  const LogShape shape = shapes::bowed(1250, 120, 105, 30);
  Order order;
  order.products = {shapes::product("square", 62, 62, {600, 1200}, 500)};
  const SawPlan live = plan_log(shape, order, Mill{}, only({Pattern::live}));
  const SawPlan both = plan_log(shape, order, Mill{}, only({Pattern::live, Pattern::cant}));
  ASSERT_EQ(both.pattern, "live");  // else nothing is shown
  const SawPlan cant = plan_log(shape, order, Mill{}, only({Pattern::cant}));
  EXPECT_EQ(cant.pattern, "cant");
  EXPECT_FALSE(cants_of(cant).empty());
  EXPECT_GT(cant.totals.net, 0.0);
  EXPECT_LE(cant.totals.net, live.totals.net + 1e-9);
  EXPECT_TRUE(replay(cant, shape).complete);
}

TEST(CantPlan, IsSawnWhereNoWidthIsAQuarterOfTheLog) {
  const LogShape shape = shapes::bowed(1250, 150, 140, 10);
  Order order;
  order.products = {shapes::product("lath", 20, 50, {600, 1200}, 500)};
  const SawPlan cant = plan_log(shape, order, Mill{}, only({Pattern::cant}));
  EXPECT_EQ(cant.pattern, "cant");
  EXPECT_TRUE(replay(cant, shape).complete);
}

TEST(CantPlan, TwoCantsOutOfOneStackAreBothSawnUp) {
  const LogShape shape = oval(1250, 140, 14);
  Order order;
  order.products = {shapes::product("joist", 34, 90, {1200}, 500)};
  const SawPlan plan = plan_log(shape, order, Mill{}, only({Pattern::cant}));
  EXPECT_EQ(plan.pattern, "cant");
  EXPECT_TRUE(replay(plan, shape).complete);
  std::map<std::string, int> boards;  // of each cant
  for (const Board& board : plan.boards) {
    for (const Cut* cut : ancestry(plan, board.piece)) {
      if (cut->piece.starts_with("cant")) ++boards[cut->piece];
    }
  }
  EXPECT_EQ(cants_of(plan).size(), 2U);
  EXPECT_EQ(boards.size(), 2U);
}

TEST(CantPlan, WanyBoardsOfACantAreEdgedAgain) {
  const LogShape shape = shapes::bowed(1250, 120, 110, 15);
  Order order;
  order.products = {shapes::product("board", 27, 150, {1200}, 600),
                    shapes::product("narrow board", 27, 90, {600, 1200}, 500)};
  const SawPlan plan = plan_log(shape, order, Mill{}, only({Pattern::cant}));
  ASSERT_TRUE(replay(plan, shape).complete);
  int edged_again = 0;
  for (const Board& board : plan.boards) {
    bool from_cant = false;
    bool edged = false;
    for (const Cut* cut : ancestry(plan, board.piece)) {
      from_cant = from_cant || kind_of(plan, *cut) == SetupKind::cant;
      edged = edged || kind_of(plan, *cut) == SetupKind::edging;
    }
    edged_again += from_cant && edged && board.width < 150 ? 1 : 0;
  }
  EXPECT_GT(edged_again, 0);
}

/// Whether there is wood on both sides of the plane of a cut.
bool meets_wood(const Cut& cut, const LogShape& shape) {
  double least = 1e9, most = -1e9;
  for (std::size_t i = 0; i < shape.stations.size(); ++i) {
    for (std::size_t j = 0; j < 64; ++j) {
      const double angle = 2.0 * std::acos(-1.0) * static_cast<double>(j) / 64.0;
      const double radius = static_cast<double>(shape.radius[i][j]);
      const Eigen::Vector3d point(shape.stations[i], shape.axis[i].x() + radius * std::cos(angle),
                                  shape.axis[i].y() + radius * std::sin(angle));
      const double height = (point - cut.point).dot(cut.normal);
      least = std::min(least, height);
      most = std::max(most, height);
    }
  }
  return least < 0.0 && most > 0.0;
}

TEST(CantPlan, NoCutIsMadeBesideTheWood) {
  const LogShape shape = shapes::bowed(1250, 128, 118, 15);
  Order order;
  order.products = {shapes::product("wide board", 27, 220, {1200}, 2000),
                    shapes::product("slab", 65, 260, {1200}, 3000),
                    shapes::product("blank", 80, 80, {600}, 400)};
  const SawPlan plan = plan_log(shape, order, Mill{}, only({Pattern::cant}));
  for (const Cut& cut : plan.cuts) EXPECT_TRUE(meets_wood(cut, shape)) << "cut " << cut.n;
  EXPECT_TRUE(replay(plan, shape).complete);
}

TEST(Patterns, EachAloneGivesItsOwnPlanOrOneSentenceThatSaysWhyNot) {
  const LogShape shape = shapes::bowed(1250, 110, 100, 20);
  const Order order = shapes::boards(27, {600, 1200}, 80, 140, 30);
  for (std::size_t i = 0; i < pattern_names.size(); ++i) {
    const Pattern pattern = pattern_named(std::string(pattern_names[i]));
    // No product of this order suits these, which is said elsewhere.
    if (pattern == Pattern::boxed_heart || pattern == Pattern::slabs ||
        pattern == Pattern::blanks) {
      continue;
    }
    const SawPlan plan = plan_log(shape, order, Mill{}, only({pattern}));
    EXPECT_TRUE(plan.pattern.starts_with(pattern_name(pattern))) << plan.pattern;
    EXPECT_TRUE(replay(plan, shape).complete) << plan.pattern;
  }
  // One board fills the log: nothing is left for another side.
  Order one;
  one.products = {shapes::product("slice", 60, 160, {1200}, 500)};
  for (const Pattern pattern : {Pattern::quarter, Pattern::around}) {
    try {
      plan_log(shape, one, Mill{}, only({pattern}));
      FAIL() << "a plan where none can be";
    } catch (const UserError& error) {
      const std::string said = error.what();
      EXPECT_EQ(error.fault(), Fault::no_product_fits);
      EXPECT_NE(said.find("can be sawn, but not"), std::string::npos) << said;
    }
  }
}

}  // namespace
}  // namespace kerfwright
