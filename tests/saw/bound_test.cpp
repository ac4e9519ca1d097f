#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <numbers>
#include <random>

#include "live_bound.hpp"
#include "planner.hpp"
#include "shapes.hpp"

namespace kerfwright {
namespace {

using namespace saw;

double drawn(std::mt19937& draw, double low, double high) {
  return std::uniform_real_distribution<double>(low, high)(draw);
}

/// A small log (invented): 600 to 900 mm, 55 to 90 mm thick in the radius, tapered, bent in an arc
/// to any side, oval, lobed and with a bump of up to 15 mm. So small that a plan in one pose takes
/// a fraction of a millisecond.
LogShape small_log(std::mt19937& draw) {
  LogShape shape;
  shape.angles = 32;
  const double length = drawn(draw, 600, 900);
  const double butt = drawn(draw, 55, 90);
  const double taper = drawn(draw, 0, 0.25);
  const double bend = drawn(draw, 0, 30);
  const double to = drawn(draw, 0, 2 * std::numbers::pi);
  const double oval = drawn(draw, 0, 0.12);
  const double lobes = drawn(draw, 0, 0.05);
  const double bump = drawn(draw, 0, 15);
  const double bump_x = drawn(draw, 0, length);
  const double bump_at = drawn(draw, 0, 2 * std::numbers::pi);
  const int gaps = 12;
  for (int i = 0; i <= gaps; ++i) {
    const double share = static_cast<double>(i) / gaps;
    const double x = length * share;
    shape.stations.push_back(x);
    const double off = 4.0 * bend * share * (1.0 - share);
    shape.axis.emplace_back(off * std::cos(to), off * std::sin(to));
    std::vector<float> radius;
    for (int j = 0; j < shape.angles; ++j) {
      const double angle = 2.0 * std::numbers::pi * j / shape.angles;
      const double aside = std::remainder(angle - bump_at, 2.0 * std::numbers::pi) / 0.5;
      const double along = (x - bump_x) / 120.0;
      radius.push_back(static_cast<float>(
          butt * (1.0 - taper * share) *
              (1.0 + oval * std::cos(2.0 * angle) + lobes * std::cos(5.0 * (angle + share))) +
          bump * std::exp(-aside * aside - along * along)));
    }
    shape.radius.push_back(radius);
    shape.sigma.emplace_back(32, 0.0F);
    shape.seen.emplace_back(32, static_cast<unsigned char>(1));
  }
  return shape;
}

/// Sizes of which the common step with a kerf of 6 is 3 mm, so that there are few heights.
Order few_sizes(std::mt19937& draw) {
  Order order;
  for (const double thickness : {18.0, 30.0}) {
    for (const double width : {42.0, 60.0, 84.0}) {
      Product made = shapes::product("board " + std::to_string(std::lround(thickness)) + " x " +
                                         std::to_string(std::lround(width)),
                                     thickness, width, {200, 350, 550}, 0);
      made.price_per_m3.reset();
      for (const double length : made.lengths) {
        made.values.push_back(thickness * width * length * 1e-6 * drawn(draw, 0.5, 1.5));
      }
      if (drawn(draw, 0, 1) < 0.3) made.wane = Wane(0.2, 0.2, drawn(draw, 0, 1) < 0.02 ? 0.5 : 1.0);
      order.products.push_back(made);
    }
  }
  return order;
}

Mill coarse_mill(std::mt19937& draw) {
  Mill mill;
  mill.height_step = 3.0;
  if (drawn(draw, 0, 1) < 0.5) {
    mill.hourly_rate = drawn(draw, 0.1, 2.0);
    mill.feed_rate = 0.05;
  }
  return mill;
}

/// A log ready to be searched.
struct Instance {
  LogShape shape;
  Order order;
  Mill mill;
  Wood wood;
  double most_slope = 0;
  HeightGrid grid;
  Catalogue catalogue;
};

Instance instance(unsigned seed) {
  std::mt19937 draw(seed);
  Instance made;
  made.shape = small_log(draw);
  made.order = few_sizes(draw);
  made.mill = coarse_mill(draw);
  made.wood = wood_of(made.shape, 1.0, 0.15);
  made.most_slope = 12.0 / made.wood.length();
  made.grid = grid_of(made.wood, made.order, made.mill, made.most_slope);
  made.catalogue = catalogue_of(made.order, made.mill, prices_of(made.order, made.mill), made.grid,
                                made.wood.length(), made.wood.reach());
  return made;
}

/// The best of all poses of a grid.
double best_of_grid(const Instance& log, int turns, int slopes) {
  double best = 0.0;
  for (int turn = 0; turn < turns; ++turn) {
    for (int i = 0; i < slopes; ++i) {
      const double share = slopes > 1 ? 2.0 * i / (slopes - 1) - 1.0 : 0.0;
      const Pose pose{turn * std::numbers::pi / turns, share * log.most_slope};
      best = std::max(best, PoseSearch(log.wood, log.catalogue, pose).best_live(best).worth);
    }
  }
  return best;
}

TEST(Bound, TheGrownWoodHoldsTheWoodInEveryPoseOfItsCell) {
  int held = 0;
  for (unsigned seed = 1; seed <= 200; ++seed) {
    const Instance log = instance(seed);
    std::mt19937 draw(seed + 1000);
    PoseCell cell;
    cell.half_roll = drawn(draw, 0.0, 0.08);
    cell.half_slope = drawn(draw, 0.0, 0.5) * log.most_slope;
    cell.middle = {drawn(draw, 0, std::numbers::pi), drawn(draw, -0.5, 0.5) * log.most_slope};
    const auto grown = grown_strips(log.wood, cell, log.grid);
    for (int k = 0; k < 9; ++k) {
      // Corners and edges of the cell, and inside it.
      const double u = k < 8 ? k % 3 - 1.0 : drawn(draw, -1, 1);
      const double v = k < 8 ? k / 3 - 1.0 : drawn(draw, -1, 1);
      const Pose pose{cell.middle.roll + u * cell.half_roll,
                      cell.middle.slope + v * cell.half_slope};
      const Profile profile(log.wood, pose, log.grid);
      // Where the middle is lifted by more than half a step, whole steps of it do not count.
      const double steps = 0.5 * log.wood.length() / log.grid.step;
      const bool about_middle = cell.half_slope * steps > 0.5;
      const double lifted = steps * (pose.slope - cell.middle.slope);
      const int moved = about_middle ? static_cast<int>(std::lround(lifted)) : 0;
      Interval rows;
      for (int strip = 0; strip < log.grid.levels; ++strip) {
        profile.common(strip, 1, rows);
        const Interval& wide =
            grown.at(static_cast<std::size_t>(std::clamp(strip - moved, 0, log.grid.levels - 1)));
        for (int c = 0; c < log.wood.cells(); ++c) {
          const auto i = static_cast<std::size_t>(c);
          if (rows.left.at[i] > rows.right.at[i]) continue;
          ++held;
          ASSERT_LE(wide.left.at[i], rows.left.at[i]) << "log " << seed << " strip " << strip;
          ASSERT_GE(wide.right.at[i], rows.right.at[i]) << "log " << seed << " strip " << strip;
        }
      }
    }
  }
  EXPECT_GT(held, 500000);
}

TEST(Bound, OfACellOfOnePoseGrowsByAHairOnly) {
  const Instance log = instance(7);
  const PoseCell cell{{0.4, 0.003}, 0.0, 0.0};
  const auto grown = grown_strips(log.wood, cell, log.grid);
  const Profile profile(log.wood, cell.middle, log.grid);
  Interval rows;
  double more = 0.0;
  double all = 0.0;
  for (int strip = 0; strip < log.grid.levels; ++strip) {
    profile.common(strip, 1, rows);
    for (int c = 0; c < log.wood.cells(); ++c) {
      const auto i = static_cast<std::size_t>(c);
      const Interval& wide = grown[static_cast<std::size_t>(strip)];
      all += std::max(0, rows.right.at[i] - rows.left.at[i]);
      more += std::max(0, wide.right.at[i] - wide.left.at[i]);
    }
  }
  EXPECT_LT(more, 1.01 * all);
}

/// Small enough to try: a quarter of 15 degrees, and of a third of the lifts either way.
TEST(Bound, IsNeverBelowTheBestOfAGridFourTimesAsFine) {
  constexpr int logs = 200;
  std::vector<double> bounds(logs), best(logs);
  for (int i = 0; i < logs; ++i) {
    const Instance log = instance(static_cast<unsigned>(i) + 1);
    BoundSpace space;
    space.most_slope = log.most_slope;
    space.most_cells = 60;
    bounds[static_cast<std::size_t>(i)] =
        bound_live(log.wood, LeastCosts(log.catalogue), space).worth;
    best[static_cast<std::size_t>(i)] = best_of_grid(log, 4 * 12, 4 * 3 + 1);
  }
  double sum = 0.0;
  int with_boards = 0;
  for (std::size_t i = 0; i < logs; ++i) {
    EXPECT_GE(bounds[i], best[i]) << "log " << i + 1;
    if (best[i] <= 0.0) continue;
    ++with_boards;
    sum += bounds[i] / best[i];
  }
  // A bound that says nothing would hold too.
  EXPECT_GT(with_boards, 190);
  EXPECT_LT(sum / with_boards, 1.25);
}

PoseCell small_cell(const Instance& log, std::mt19937& draw) {
  PoseCell cell;
  cell.half_roll = drawn(draw, 0.0, 0.03);
  cell.half_slope = drawn(draw, 0.0, 0.15) * log.most_slope;
  cell.middle.roll = drawn(draw, 0, std::numbers::pi);
  cell.middle.slope = drawn(draw, -0.8, 0.8) * log.most_slope;
  return cell;
}

TEST(Bound, OfASmallCellIsNeverBelowTheBestOfThePosesInIt) {
  double sum = 0.0;
  int with_boards = 0;
  for (unsigned seed = 1; seed <= 200; ++seed) {
    const Instance log = instance(seed);
    const LeastCosts costs(log.catalogue);
    std::mt19937 draw(seed + 2000);
    for (int trial = 0; trial < 3; ++trial) {
      const PoseCell cell = small_cell(log, draw);
      const double bound = bound_of_cell(log.wood, costs, cell, 0.0);
      double best = 0.0;
      for (int k = 0; k < 25; ++k) {
        const Pose pose{cell.middle.roll + (0.5 * (k % 5) - 1.0) * cell.half_roll,
                        cell.middle.slope + (0.5 * (k / 5) - 1.0) * cell.half_slope};
        best = std::max(best, PoseSearch(log.wood, log.catalogue, pose).best_live(best).worth);
      }
      ASSERT_GE(bound, best) << "log " << seed << " trial " << trial;
      if (best <= 0.0) continue;
      ++with_boards;
      sum += bound / best;
    }
  }
  EXPECT_GT(with_boards, 550);
  EXPECT_LT(sum / with_boards, 1.15);  // a bound that says nothing would hold too
}

/// With cants: every one of the poses in a cell goes on with three slopes of the second setup.
TEST(Bound, OfACellWithCantsIsNeverBelowTheBestOfThePosesInIt) {
  double sum = 0.0;
  int with_boards = 0;
  int with_cants = 0;
  for (unsigned seed = 1; seed <= 200; ++seed) {
    const Instance log = instance(seed);
    const LeastCosts costs(log.catalogue);
    std::mt19937 draw(seed + 4000);
    const PoseCell cell = small_cell(log, draw);
    const CantSpace space{log.most_slope, log.catalogue.turn_cost};
    const double bound = bound_of_cell(log.wood, costs, cell, 0.0, space);
    double best = 0.0;
    bool turned = false;
    for (int k = 0; k < 9; ++k) {
      const Pose pose{cell.middle.roll + (k % 3 - 1) * cell.half_roll,
                      cell.middle.slope + (k / 3 - 1) * cell.half_slope};
      const double slope = drawn(draw, -1.0, 1.0) * log.most_slope;
      const CantSearch cants{1, {-log.most_slope, slope, log.most_slope}, space.turn_cost};
      const LogPlan plan = PoseSearch(log.wood, log.catalogue, pose).best_with_cants(cants, best);
      if (plan.worth <= best) continue;
      best = plan.worth;
      turned = !plan.cants.empty();
    }
    ASSERT_GE(bound, best) << "log " << seed;
    if (best <= 0.0) continue;
    ++with_boards;
    if (turned) ++with_cants;
    sum += bound / best;
  }
  EXPECT_GT(with_boards, 190);
  EXPECT_GT(with_cants, 30);
  EXPECT_LT(sum / with_boards, 1.25);  // a bound that says nothing would hold too
}

/// Where hands are dear, a plan as it is written may cost less than the search counted: a piece
/// that ends at the log's own end needs no cut there, and lanes that fill a cant a rip less. Slopes
/// are drawn about those from which on no end is square.
TEST(Bound, OfACellIsNeverBelowAPlanOfItAsItIsWritten) {
  double sum = 0.0;
  int written = 0;
  int spared = 0;
  int with_cants = 0;
  for (unsigned seed = 1; seed <= 400; ++seed) {
    Instance log = instance(seed);
    std::mt19937 draw(seed + 6000);
    log.mill.hourly_rate = drawn(draw, 0.5, 3.0);
    log.mill.feed_rate = 0.05;
    log.mill.minutes_per_turn = 0.0;
    log.mill.minutes_per_cross_cut = drawn(draw, 0.1, 1.0);
    log.mill.minutes_per_edging = drawn(draw, 0.1, 1.0);
    Catalogues catalogues(log.order, log.mill, prices_of(log.order, log.mill), log.grid,
                          log.wood.length(), log.wood.reach(), false);
    const LeastCosts costs(catalogues.all());
    const double turn = catalogues.all().turn_cost;
    const double slope = seed % 2 == 0 ? 0.0 : drawn(draw, -0.2, 0.2) / 18.0;
    const PoseCell cell{{drawn(draw, 0, std::numbers::pi), slope}, 0.0, 0.0};
    const bool must = seed % 4 > 1;
    const CantSearch cants{1, {0.0}, turn, must};
    const LogPlan plan =
        PoseSearch(log.wood, catalogues.all(), cell.middle).best_with_cants(cants, 0.0);
    if (plan.worth <= 0.0) continue;
    const LogLayout layout = layout_of(plan, log.wood, catalogues);
    // Lanes that lean otherwise than the faces beside them, and segments, are not bounded.
    const auto edged_freely = [](const std::vector<FlitchLayout>& flitches, double lean) {
      return std::any_of(flitches.begin(), flitches.end(), [&](const FlitchLayout& flitch) {
        return !flitch.segments.empty() || flitch.lean != lean;
      });
    };
    bool any_free = edged_freely(layout.flitches, 0.0);
    for (const CantLayout& cant : layout.cants) {
      any_free = any_free || edged_freely(cant.flitches, cant.lean);
    }
    if (any_free) continue;
    const SawPlan made = emit_plan(layout, log.shape, log.order, log.mill);
    const double net = made.totals.net + turn;
    const double bound = bound_of_cell(log.wood, costs, cell, 0.0, CantSpace{0.0, turn});
    EXPECT_GE(bound, net) << "log " << seed;
    ++written;
    if (net > plan.worth + 1e-3) ++spared;
    if (!plan.cants.empty()) ++with_cants;
    sum += bound / net;
  }
  EXPECT_GT(written, 250);
  EXPECT_GT(spared, 150);
  EXPECT_GT(with_cants, 150);
  EXPECT_LT(sum / written, 1.5);  // a bound that says nothing would hold too
}

/// All turns and slopes, with cants: not only the poses of one cell.
TEST(Bound, WithCantsIsNeverBelowTheBestOfAGrid) {
  double sum = 0.0;
  int with_cants = 0;
  constexpr int logs = 10;
  for (unsigned seed = 1; seed <= logs; ++seed) {
    const Instance log = instance(seed);
    BoundSpace space;
    space.most_slope = log.most_slope;
    space.most_cells = 60;
    space.cants = CantSpace{log.most_slope, log.catalogue.turn_cost};
    const double bound = bound_live(log.wood, LeastCosts(log.catalogue), space).worth;
    double best = 0.0;
    bool turned = false;
    for (int turn = 0; turn < 24; ++turn) {
      for (const double share : {-1.0, 0.0, 1.0}) {
        const Pose pose{turn * std::numbers::pi / 24, share * log.most_slope};
        const CantSearch cants{1, {-log.most_slope, 0.0, log.most_slope}, space.cants->turn_cost};
        const LogPlan plan = PoseSearch(log.wood, log.catalogue, pose).best_with_cants(cants, best);
        if (plan.worth <= best) continue;
        best = plan.worth;
        turned = !plan.cants.empty();
      }
    }
    ASSERT_GE(bound, best) << "log " << seed;
    if (turned) ++with_cants;
    sum += bound / best;
  }
  EXPECT_GT(with_cants, 3);
  EXPECT_LT(sum / logs, 1.5);  // a bound that says nothing would hold too
}

TEST(Bound, ComesDownToTheBestAsCellsGetSmaller) {
  const Instance log = instance(3);
  BoundSpace space;
  space.most_slope = log.most_slope;
  const LeastCosts costs(log.catalogue);
  double before = 1e30;
  for (const int cells : {24, 200, 2000}) {
    space.most_cells = cells;
    const double bound = bound_live(log.wood, costs, space).worth;
    EXPECT_LT(bound, before);
    before = bound;
  }
  const double best = best_of_grid(log, 180, 25);
  EXPECT_GE(before, best);
  EXPECT_LT(before, 1.1 * best);
}

TEST(Bound, EndsWhereItIsGoodEnough) {
  const Instance log = instance(3);
  BoundSpace space;
  space.most_slope = log.most_slope;
  space.good = 1.3 * best_of_grid(log, 45, 5);
  const LiveBound found = bound_live(log.wood, LeastCosts(log.catalogue), space);
  EXPECT_TRUE(found.complete);
  EXPECT_LE(found.worth, space.good);
  EXPECT_LT(found.cells, space.most_cells);
}

TEST(Bound, IsNoneWhereItWasStoppedAtOnce) {
  const Instance log = instance(3);
  BoundSpace space;
  space.most_slope = log.most_slope;
  space.stop = [] { return true; };
  EXPECT_FALSE(bound_live(log.wood, LeastCosts(log.catalogue), space).complete);
}

/// Of every number of pieces, the value is no more than lowered prices and what they took off.
TEST(Bound, LoweredPricesAndWhatTheyTookOffHoldForEveryNumberOfPieces) {
  Order order;
  order.products.push_back(shapes::product("a", 20, 100, {1000, 2000}, 500));
  order.products.push_back(shapes::product("b", 20, 150, {1000}, 500));
  order.products[0].wanted = 2;
  order.products[0].beyond = 0.25;
  const Prices full = {{3.0, 7.0}, {4.0}};
  for (const double share : {0.25, 0.4, 1.0}) {
    const Prices lowered = {{3.0 * share, 7.0 * share}, {4.0}};
    const double limit = taken_off(order, full, lowered);
    for (int longer = 0; longer < 5; ++longer) {
      for (int shorter = 0; shorter < 5; ++shorter) {
        double value = 0.0;
        double told = 0.0;
        for (int i = 0; i < longer + shorter; ++i) {
          const double price = i < longer ? 7.0 : 3.0;  // the dearest first
          value += i < 2 ? price : 0.25 * price;
          told += share * price;
        }
        EXPECT_LE(value, told + limit + 1e-9);
      }
    }
  }
}

}  // namespace
}  // namespace kerfwright
