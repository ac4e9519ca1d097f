#include <gtest/gtest.h>

#include <cmath>
#include <random>

#include "frame.hpp"
#include "kerfwright/error.hpp"
#include "kerfwright/saw/plan_log.hpp"
#include "kerfwright/saw/replay.hpp"
#include "kerfwright/shape/mark_geometry.hpp"
#include "pose_search.hpp"

namespace kerfwright::saw {
namespace {

double draw(std::mt19937& random, double low, double high) {
  return low + (high - low) * static_cast<double>(random() % 1000) / 999.0;
}

/// A bowed log whose pith lies off its middle, at the two ends differently.
LogShape eccentric_log(std::mt19937& random, double length, double radius) {
  LogShape shape;
  shape.angles = 32;
  const double sweep = draw(random, 0, 0.25 * radius);
  const double taper = draw(random, 0, 0.15 * radius);
  for (double x = 0; x <= length; x += 50) {
    const double share = x / length;
    shape.stations.push_back(x);
    shape.axis.emplace_back(4 * sweep * share * (1 - share), 0.0);
    shape.radius.emplace_back(32, static_cast<float>(radius - taper * share));
    shape.sigma.emplace_back(32, 0.0F);
    shape.seen.emplace_back(32, static_cast<unsigned char>(1));
  }
  const double off = 0.55 * radius;
  shape.marks.pith = Pith{{draw(random, -off, off), draw(random, -off, off)},
                          {draw(random, -off, off), draw(random, -off, off)}};
  return shape;
}

Product beam(double thickness, double width, std::vector<double> lengths,
             std::vector<double> values) {
  Product product;
  product.name = "beam";
  product.thickness = thickness;
  product.width = width;
  product.lengths = std::move(lengths);
  product.values = std::move(values);
  product.boxed_heart = true;
  return product;
}

/// What the best single beam out of one cant is worth, by trying every height of the cant, every
/// height of the beam in it and every run of cells; the pith is looked for in the log's own frame.
double try_all_beams(const Wood& wood, const Catalogue& catalogue, const Pose& pose,
                     const Product& product) {
  const Pose turned = quarter_turn(pose, 0.0);
  const Profile profile(wood, turned, catalogue.grid);
  const Frame first(pose);
  const Frame second(turned);
  const HeightGrid& grid = catalogue.grid;
  const double cos_slope = std::sqrt(1.0 - pose.slope * pose.slope);
  const double lean = pose.slope / cos_slope;
  const auto strips = static_cast<int>(std::lround(product.thickness / grid.step));
  double best = 0.0;
  for (int b = 0; b + 2 < grid.levels; ++b) {
    // The cant's faces; the second setup sees the lower one on the right.
    const double bottom = grid.height(b);
    const double left = std::round(-(bottom + product.width) / cos_slope * 10.0) / 10.0;
    for (int v = 0; v + strips <= grid.levels; ++v) {
      Interval rows;
      profile.common(v, strips, rows);
      double run = 0.0;
      for (int c = 0; c <= wood.cells(); ++c) {
        bool clear = c < wood.cells();
        for (int end = 0; clear && end < 2; ++end) {
          const auto i = static_cast<std::size_t>(c + end);
          const Eigen::Vector3d pith(wood.border[i], wood.pith[i].x(), wood.pith[i].y());
          const double up = second.up.dot(pith) - grid.height(v);
          const double across = second.across.dot(pith) - lean * pith.x() - left;
          clear = up >= heart_margin && up <= product.thickness - heart_margin &&
                  across >= heart_margin - 1e-9 && across <= product.width - heart_margin + 1e-9;
          const double low = left + lean * wood.border[i];
          const auto cell = static_cast<std::size_t>(c);
          clear = clear && rows.left.at[cell] <= 10.0 * low &&
                  rows.right.at[cell] >= 10.0 * (low + product.width);
        }
        if (clear) {
          const auto i = static_cast<std::size_t>(c);
          run += wood.border[i + 1] - wood.border[i];
          continue;
        }
        for (std::size_t k = 0; k < product.lengths.size(); ++k) {
          const double loss = product.width * std::abs(lean) + 0.02;
          if (run - loss >= product.lengths[k]) best = std::max(best, product.values[k]);
        }
        run = 0.0;
      }
    }
  }
  return best;
}

TEST(BoxedHeart, TheBestBeamIsThatOfTryingEveryPlaceOnTwoHundredSmallLogs) {
  std::mt19937 random(23);
  Mill mill;
  mill.kerf = 4;
  mill.height_step = 2;
  int some = 0;
  int none = 0;
  for (int trial = 0; trial < 220; ++trial) {
    const LogShape shape = eccentric_log(random, 400, 60);
    Order order;
    order.products = {beam(48, 64, {150, 390}, {3.0, 9.0})};
    const Wood wood = wood_of(shape, 0.0, 0.1);
    const HeightGrid grid = grid_for(wood, mill.height_step, 0.0);
    const Catalogue catalogue =
        catalogue_of(order, mill, prices_of(order, mill), grid, wood.length(), wood.reach());
    const Pose pose{draw(random, 0, 3.1), 0.0};
    PoseSearch search(wood, catalogue, pose);
    const LogPlan plan = search.best_with_cants({1, {0.0}, 0.0}, 0.0);
    const double tried = try_all_beams(wood, catalogue, pose, order.products.front());
    // Only one piece holds the pith at any place along the log, but two short ones may follow
    // each other.
    const double found = plan.cants.empty() ? 0.0 : plan.worth;
    if (tried > 0.0) {
      ASSERT_GE(plan.worth, tried - 1e-6) << "trial " << trial;
    }
    if (found > 0.0) {
      ASSERT_GT(tried, 0.0) << "trial " << trial;
      ASSERT_LE(found, std::max(tried, 2.0 * order.products.front().values[0]) + 1e-6);
    }
    (tried > 3.5 ? some : none) += 1;
  }
  EXPECT_GT(some, 40);
  EXPECT_GT(none, 40);
}

PlanSettings quick(std::vector<Pattern> patterns) {
  PlanSettings settings;
  settings.turn_step = 15;
  settings.lifts = 3;
  settings.patterns = std::move(patterns);
  return settings;
}

Order beam_and_boards() {
  Order order;
  order.products = {beam(100, 120, {1200}, {20.0})};
  Product board;
  board.name = "board";
  board.thickness = 25;
  board.width = 80;
  board.lengths = {600, 1200};
  board.values = {1.5, 3.4};
  order.products.push_back(board);
  return order;
}

TEST(BoxedHeart, ABeamIsSawnAboutThePithWithBoardsFromTheSides) {
  std::mt19937 random(2);
  LogShape shape = eccentric_log(random, 1250, 120);
  shape.marks.pith = Pith{{18, -12}, {-10, 14}};
  const SawPlan plan = plan_log(shape, beam_and_boards(), Mill{}, quick({}));
  EXPECT_EQ(plan.pattern, "boxed-heart");
  EXPECT_TRUE(replay(plan, shape).complete);
  const auto beams = std::count_if(plan.boards.begin(), plan.boards.end(),
                                   [](const Board& board) { return board.product == "beam"; });
  EXPECT_EQ(beams, 1);
  EXPECT_GT(plan.boards.size(), 4U);
}

TEST(BoxedHeart, IsSawnWhenAskedForAloneThoughBoardsFetchMore) {
  std::mt19937 random(2);
  const LogShape shape = eccentric_log(random, 1250, 120);
  Order order = beam_and_boards();
  order.products.front().values = {4.0};
  EXPECT_NE(plan_log(shape, order, Mill{}, quick({})).pattern, "boxed-heart");
  const SawPlan plan = plan_log(shape, order, Mill{}, quick({Pattern::boxed_heart}));
  EXPECT_EQ(plan.pattern, "boxed-heart");
  EXPECT_TRUE(replay(plan, shape).complete);
}

/// Where boxed hearts are not asked for but sawing around is, only the latter boxes one.
TEST(BoxedHeart, OfAnOrderComesOutOfSawingAroundAlone) {
  std::mt19937 random(2);
  LogShape shape = eccentric_log(random, 1250, 120);
  shape.marks.pith = Pith{{18, -12}, {-10, 14}};
  const SawPlan plan =
      plan_log(shape, beam_and_boards(), Mill{}, quick({Pattern::live, Pattern::around}));
  EXPECT_TRUE(replay(plan, shape).complete);
  EXPECT_EQ(plan.pattern, "around");
  EXPECT_TRUE(std::any_of(plan.boards.begin(), plan.boards.end(),
                          [](const Board& board) { return board.product == "beam"; }));
  const SawPlan live = plan_log(shape, beam_and_boards(), Mill{}, quick({Pattern::live}));
  EXPECT_GE(plan.totals.net, live.totals.net);
}

TEST(BoxedHeart, ABeamWithoutThePithIsNoneAndReplaySaysSo) {
  std::mt19937 random(2);
  LogShape shape = eccentric_log(random, 1250, 120);
  shape.marks.pith = Pith{{18, -12}, {-10, 14}};
  const SawPlan plan = plan_log(shape, beam_and_boards(), Mill{}, quick({Pattern::boxed_heart}));
  LogShape other = shape;
  other.marks.pith = Pith{{-80, 30}, {-80, 30}};
  EXPECT_TRUE(replay(plan, shape).complete);
  EXPECT_FALSE(replay(plan, other).complete);
}

TEST(BoxedHeart, IsLeftOutWhereThePatternIsAndSaysWhenNoProductSuits) {
  std::mt19937 random(3);
  const LogShape shape = eccentric_log(random, 1250, 120);
  const SawPlan live = plan_log(shape, beam_and_boards(), Mill{}, quick({Pattern::live}));
  for (const Board& board : live.boards) EXPECT_NE(board.product, "beam");
  Order boards = beam_and_boards();
  boards.products.erase(boards.products.begin());
  try {
    plan_log(shape, boards, Mill{}, quick({Pattern::boxed_heart}));
    FAIL() << "a heart was boxed by no product";
  } catch (const UserError& error) {
    EXPECT_EQ(error.fault(), Fault::no_product_fits);
  }
}

TEST(BoxedHeart, IsReadFromAnOrder) {
  const Order order = parse_order(
      "[[product]]\nname = \"sleeper\"\nthickness = 120\nwidth = 150\nlengths = [1000]\n"
      "values = [9]\nheart = \"boxed\"\n[[product]]\nname = \"board\"\nthickness = 27\n"
      "width = 100\nlengths = [1000]\nvalues = [3]\nheart = \"free\"\n",
      "order");
  EXPECT_TRUE(order.products[0].boxed_heart);
  EXPECT_FALSE(order.products[1].boxed_heart);
  ASSERT_TRUE(order.products[1].grades.has_value());
  EXPECT_FALSE(order.products[1].grades->pith.has_value());
  EXPECT_THROW(parse_order("[[product]]\nname = \"x\"\nthickness = 1\nwidth = 1\nlengths = [1]\n"
                           "values = [1]\nheart = \"both\"\n",
                           "order"),
               UserError);
}

}  // namespace
}  // namespace kerfwright::saw
