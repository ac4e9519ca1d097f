#include "kerfwright/saw/replan.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <set>

#include "../error_of.hpp"
#include "kerfwright/error.hpp"
#include "kerfwright/saw/replay.hpp"
#include "kerfwright/shape/mark_geometry.hpp"
#include "remains.hpp"
#include "shapes.hpp"
#include "worth.hpp"

namespace kerfwright::saw {
namespace {

Mill mill() {
  Mill mill;
  mill.bunks = {200, 900};
  mill.hourly_rate = 6;
  return mill;
}

LogShape log_of(Pattern pattern) {
  const bool bent = pattern == Pattern::cross_cut;
  LogShape shape = shapes::bowed(bent ? 1500 : 1100, 95, 88, bent ? 110 : 12);
  for (auto& station : shape.sigma) std::fill(station.begin(), station.end(), 0.5F);
  return shape;
}

Order order_for(Pattern pattern) {
  if (pattern != Pattern::around) return shapes::boards(22, {350, 700, 1050}, 60, 120, 30);
  Order order = shapes::boards(22, {500, 1050}, 60, 120, 30);
  order.products.push_back(shapes::product("post", 88, 88, {1050}, 900));
  return order;
}

SawPlan plan_of(Pattern pattern) {
  PlanSettings settings = shapes::quick();
  settings.patterns = {pattern};
  return plan_log(log_of(pattern), order_for(pattern), mill(), settings);
}

bool same_cut(const Cut& a, const Cut& b) {
  return a.n == b.n && a.setup == b.setup && a.piece == b.piece && a.point == b.point &&
         a.normal == b.normal && a.kerf == b.kerf && a.above == b.above && a.below == b.below;
}

int last_mill_cut(const SawPlan& plan) {
  int last = 0;
  for (const Cut& cut : plan.cuts) {
    for (const Setup& setup : plan.setups) {
      const bool on_mill = setup.kind == SetupKind::log || setup.kind == SetupKind::cant;
      if (setup.n == cut.setup && on_mill) last = cut.n;
    }
  }
  return last;
}

/// Cuts that were made stay, with their setups and the boards they finished; all others are
/// numbered on.
void expect_goes_on(const SawPlan& old, const SawPlan& now, int done) {
  EXPECT_EQ(now.done, done);
  ASSERT_GE(now.cuts.size(), static_cast<std::size_t>(done));
  std::set<int> setups;
  for (std::size_t i = 0; i < static_cast<std::size_t>(done); ++i) {
    EXPECT_TRUE(same_cut(old.cuts[i], now.cuts[i])) << "cut " << i + 1;
    setups.insert(old.cuts[i].setup);
  }
  for (std::size_t i = 0; i < now.cuts.size(); ++i) {
    EXPECT_EQ(now.cuts[i].n, static_cast<int>(i) + 1);
  }
  const auto setup_in = [](const SawPlan& plan, int n) {
    return *std::find_if(plan.setups.begin(), plan.setups.end(),
                         [n](const Setup& setup) { return setup.n == n; });
  };
  for (const int n : setups) {
    EXPECT_EQ(setup_in(old, n).roll, setup_in(now, n).roll);
    EXPECT_EQ(setup_in(old, n).lift_top, setup_in(now, n).lift_top);
    EXPECT_EQ(setup_in(old, n).kind, setup_in(now, n).kind);
  }
}

class EveryCut : public testing::TestWithParam<Pattern> {};

/// Whatever is sawn, the old plan's rest is there to be sawn still.
TEST_P(EveryCut, WithoutNewMarksIsWorthAtLeastThePlanBefore) {
  const SawPlan old = plan_of(GetParam());
  const LogShape shape = log_of(GetParam());
  const int mill_cuts = last_mill_cut(old);
  const int all = old.cuts.back().n;
  for (int done = 0; done < all; done += done < mill_cuts ? 1 : 7) {
    SCOPED_TRACE("after cut " + std::to_string(done));
    const SawPlan now = replan(old, shape, done, shapes::quick());
    EXPECT_GE(now.totals.net, old.totals.net - 1e-6);
    const Replay sawn = replay(now, shape);
    EXPECT_TRUE(sawn.complete) << (sawn.sentences.empty() ? "" : sawn.sentences.front());
    expect_goes_on(old, now, done);
  }
}

/// Boards that were finished before stay, as they were numbered.
TEST_P(EveryCut, KeepsTheBoardsThatAreFinished) {
  const SawPlan old = plan_of(GetParam());
  const LogShape shape = log_of(GetParam());
  const int done = (last_mill_cut(old) + old.cuts.back().n) / 2;
  const std::vector<Cut> made(old.cuts.begin(), old.cuts.begin() + done);
  std::set<std::string> there;
  const SawnPieces pieces(made);
  for (const Remain& piece : pieces.remains()) there.insert(piece.name);
  const SawPlan now = replan(old, shape, done, shapes::quick());
  int finished = 0;
  for (const Board& board : old.boards) {
    if (!there.contains(board.piece)) continue;
    ++finished;
    const auto kept = std::find_if(now.boards.begin(), now.boards.end(),
                                   [&](const Board& other) { return other.id == board.id; });
    ASSERT_NE(kept, now.boards.end());
    EXPECT_EQ(kept->piece, board.piece);
    EXPECT_EQ(kept->corner, board.corner);
  }
  EXPECT_GT(finished, 0);
}

/// Rot about the pith: nothing is sold out of it, and what the old plan had beside it is there, or
/// something dearer.
TEST_P(EveryCut, SellsNothingInRotThatWasFound) {
  const SawPlan old = plan_of(GetParam());
  LogShape shape = log_of(GetParam());
  shape.marks.rot.push_back({24, 24});
  const WoodMarks marks(shape);
  double sound = 0.0;
  for (const BoardWorth& worth : board_worths(old, marks)) {
    if (worth.piece.sold) sound += worth.value;
  }
  ASSERT_LT(sound, old.totals.value);
  for (int done = 0; done <= last_mill_cut(old); done += 3) {
    SCOPED_TRACE("after cut " + std::to_string(done));
    const SawPlan now = replan(old, shape, done, shapes::quick());
    EXPECT_TRUE(replay(now, shape).complete);
    // A plan is chosen by what is left after the sawing, so that it may fetch a little less.
    EXPECT_GE(now.totals.value, sound - 0.02 * old.totals.value);
    expect_goes_on(old, now, done);
    const PithLine pith(shape);
    for (const Board& board : now.boards) {
      for (double a = 0.5; a < board.length; a += 10) {
        const Eigen::Vector3d middle = board.corner + a * board.along +
                                       0.5 * board.width * board.across +
                                       0.5 * board.thickness * board.up;
        EXPECT_LE(depth_in_core(shape, pith, shape.marks.rot[0], middle), 0.0)
            << "board " << board.id;
      }
    }
  }
}

INSTANTIATE_TEST_SUITE_P(Replan, EveryCut,
                         testing::Values(Pattern::live, Pattern::cant, Pattern::quarter,
                                         Pattern::around, Pattern::cross_cut),
                         [](const auto& pattern) {
                           std::string name(pattern_name(pattern.param));
                           std::erase(name, '-');
                           return name;
                         });

/// The old plan forgotten but for the cuts that are made: what lies on the mill, between bark and
/// the face that is there, gives as much as it did.
TEST(Replan, FindsByItselfWhatTheRestIsWorth) {
  const SawPlan old = plan_of(Pattern::live);
  const LogShape shape = log_of(Pattern::live);
  const SawnPieces pieces(old.cuts);
  for (int done = 1; done <= 3; ++done) {
    SCOPED_TRACE("after cut " + std::to_string(done));
    const std::string lying = old.cuts[static_cast<std::size_t>(done) - 1].below;
    SawPlan begun = old;
    begun.cuts.resize(static_cast<std::size_t>(done));
    begun.boards.clear();
    double value = 0.0;
    for (const Board& board : old.boards) {
      if (pieces.comes_of(board.piece, lying)) value += board.value;
    }
    const SawPlan now = replan(begun, shape, done, shapes::quick());
    EXPECT_GE(now.totals.value, value - 1e-6);
    // On as it lies: the next board ends at the face that is there.
    EXPECT_EQ(now.cuts[static_cast<std::size_t>(done)].setup, old.cuts[0].setup);
  }
}

/// A cant on its sawn face, the other at the stops, likewise.
TEST(Replan, FindsByItselfWhatACantIsWorth) {
  const SawPlan old = plan_of(Pattern::cant);
  const LogShape shape = log_of(Pattern::cant);
  const SawnPieces pieces(old.cuts);
  const auto second = std::find_if(old.cuts.begin(), old.cuts.end(),
                                   [&](const Cut& cut) { return cut.piece.starts_with("cant"); });
  ASSERT_NE(second, old.cuts.end());
  SawPlan begun = old;
  begun.cuts.erase(begun.cuts.begin() + (second - old.cuts.begin()), begun.cuts.end());
  begun.boards.clear();
  double value = 0.0;
  for (const Board& board : old.boards) {
    if (pieces.comes_of(board.piece, second->piece)) value += board.value;
  }
  // A piece of which no board is known is planned where it lies on the mill.
  const std::string& below = begun.cuts.back().below;
  for (auto& setup : begun.setups) {
    if (below == second->piece || setup.n != begun.cuts.back().setup) continue;
    setup.roll += 180;
    std::swap(setup.lift_butt, setup.lift_top);
  }
  const SawPlan now = replan(begun, shape, begun.cuts.back().n, shapes::quick());
  EXPECT_GE(now.totals.value, value - 1e-6);
}

TEST(Replan, SawsNothingWithinReachOfANail) {
  const SawPlan old = plan_of(Pattern::live);
  LogShape shape = log_of(Pattern::live);
  shape.marks.metal.push_back({{550, 30, 10}, 18});
  for (int done = 0; done <= last_mill_cut(old); done += 2) {
    SCOPED_TRACE("after cut " + std::to_string(done));
    const SawPlan now = replan(old, shape, done, shapes::quick());
    EXPECT_TRUE(replay(now, shape).complete);
    expect_goes_on(old, now, done);
    EXPECT_GT(now.totals.value, 0.0);
    const SawnPieces pieces(now.cuts);
    for (const Cut& cut : now.cuts) {
      if (cut.n <= done) continue;
      const auto sides = pieces.sides_of(cut.piece);
      const Metal& nail = shape.marks.metal[0];
      const bool inside = std::all_of(sides.begin(), sides.end(), [&](const SawnSide& side) {
        return side.outward.dot(nail.place) - side.offset <= nail.reach;
      });
      const double off = std::abs((nail.place - cut.point).dot(cut.normal)) - cut.kerf / 2;
      EXPECT_TRUE(!inside || off >= nail.reach) << "cut " << cut.n << " in " << cut.piece;
    }
  }
}

/// A cut that met the nail before anyone knew of it does not spoil the plan.
TEST(Replan, ForgivesTheCutThatFoundTheNail) {
  const SawPlan old = plan_of(Pattern::live);
  LogShape shape = log_of(Pattern::live);
  const Cut& cut = old.cuts[1];
  Eigen::Vector3d place = cut.point;
  place += (550 - place.x()) * (Eigen::Vector3d::UnitX() - cut.normal.x() * cut.normal);
  shape.marks.metal.push_back({place, 10});
  const SawPlan now = replan(old, shape, 2, shapes::quick());
  EXPECT_TRUE(replay(now, shape).complete);
  EXPECT_GT(now.totals.value, 0.0);
}

TEST(Replan, CanBeDoneAgainOnItsOwnPlan) {
  const SawPlan old = plan_of(Pattern::live);
  LogShape shape = log_of(Pattern::live);
  shape.marks.rot.push_back({15, 15});
  const SawPlan once = replan(old, shape, 1, shapes::quick());
  shape.marks.rot.push_back({24, 24});
  const SawPlan twice = replan(once, shape, 3, shapes::quick());
  EXPECT_TRUE(replay(twice, shape).complete);
  expect_goes_on(once, twice, 3);
  EXPECT_EQ(error_of([&] { replan(once, shape, 0, shapes::quick()); }).fault(), Fault::usage);
}

TEST(Replan, SaysWhyItCannot) {
  const SawPlan old = plan_of(Pattern::live);
  LogShape shape = log_of(Pattern::live);
  const int last = old.cuts.back().n;
  EXPECT_EQ(error_of([&] { replan(old, shape, last + 1, shapes::quick()); }).fault(), Fault::usage);
  EXPECT_EQ(error_of([&] { replan(old, shape, last, shapes::quick()); }).fault(),
            Fault::no_product_fits);
  shape.marks.rot.push_back({200, 200});
  EXPECT_EQ(error_of([&] { replan(old, shape, 3, shapes::quick()); }).fault(),
            Fault::no_product_fits);
}

}  // namespace
}  // namespace kerfwright::saw
