#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <random>
#include <set>

#include "kerfwright/error.hpp"
#include "kerfwright/saw/live_edge.hpp"
#include "kerfwright/saw/plan_log.hpp"
#include "kerfwright/saw/replay.hpp"
#include "lane_marks.hpp"
#include "shapes.hpp"
#include "slab_places.hpp"

namespace kerfwright {
namespace {

using shapes::bowed;
using shapes::quick;

Product slab(const std::string& name, double thickness, double least_width,
             std::vector<double> lengths, double price_per_m2) {
  Product made;
  made.name = name;
  made.thickness = thickness;
  made.width = least_width;
  made.lengths = std::move(lengths);
  made.price_per_m2 = price_per_m2;
  made.live_edge = true;
  return made;
}

/// A flitch of eight cells of 3 mm, drawn by `std::mt19937`: edges and marks at whole mm.
struct SmallFlitch {
  std::vector<int> left, right;  // mm
  std::vector<double> factor;    // of the worst mark in a cell; 0 = not sold

  double width(int cell) const {
    const auto i = static_cast<std::size_t>(cell);
    return right[i] - left[i];
  }
};

constexpr int cells = 8;
constexpr int cell_length = 3;

double mean_width(const SmallFlitch& flitch, double length, int x) {
  const int looks = static_cast<int>(std::lround(length * 10));
  double sum = 0.0;
  for (int i = 0; i < looks; ++i) {
    sum += flitch.width(static_cast<int>((x + (i + 0.5) / 10.0) / cell_length));
  }
  return sum / looks;
}

/// What a slab from x to x + length is worth, by looking at every tenth of a mm.
double worth_by_looking(const SmallFlitch& flitch, const Product& product, std::size_t length,
                        int x) {
  const double to = x + product.lengths[length];
  if (to > cells * cell_length + 1e-9) return 0.0;
  const int looks = static_cast<int>(std::lround(product.lengths[length] * 10));
  double worst = 1e9;
  for (int i = 0; i < looks; ++i) {
    const int cell = static_cast<int>((x + (i + 0.5) / 10.0) / cell_length);
    if (flitch.width(cell) < product.width) return 0.0;
    worst = std::min(worst, flitch.factor[static_cast<std::size_t>(cell)]);
  }
  return product.value_of(length, mean_width(flitch, product.lengths[length], x)) * worst;
}

/// Every way to lay slabs from x on, by plain recursion.
double try_all(const SmallFlitch& flitch, const Order& order, double kerf, int from) {
  double best = 0.0;
  for (int x = from; x < cells * cell_length; ++x) {
    for (const Product& product : order.products) {
      for (std::size_t i = 0; i < product.lengths.size(); ++i) {
        const double worth = worth_by_looking(flitch, product, i, x);
        if (worth <= 0.0) continue;
        const int next = static_cast<int>(std::ceil(x + product.lengths[i] + kerf - 1e-9));
        best = std::max(best, worth + try_all(flitch, order, kerf, next));
      }
    }
  }
  return best;
}

TEST(Slabs, PlacesAndMeanWidthsEqualPlainRecursionOnRandomFlitches) {
  std::mt19937 random(5);
  int with_slabs = 0;
  for (int trial = 0; trial < 300; ++trial) {
    Mill mill;
    mill.kerf = trial % 3 == 0 ? 1.5 : 1.0;
    mill.hourly_rate = 0.0;
    Order order;
    order.products = {slab("wide", 2, 6, {5, 8.5}, 3e6), slab("narrow", 2, 3, {4, 10}, 2e6)};
    const bool graded = trial % 2 == 1;
    if (graded) {
      for (Product& product : order.products) product.grades = Grades{1.0, 0.5, {}, 1.0};
    }
    SmallFlitch small;
    saw::FlitchWood wood;
    wood.outer.left.at.fill(32767);
    wood.outer.right.at.fill(-32768);
    auto marks = std::make_shared<saw::FlitchMarks>();
    std::vector<double> border = {0};
    for (int c = 0; c < cells; ++c) {
      small.left.push_back(-2 - static_cast<int>(random() % 3));
      small.right.push_back(static_cast<int>(random() % 5));
      const auto i = static_cast<std::size_t>(c);
      wood.outer.left.at[i] = static_cast<saw::Unit>(small.left.back() * saw::units_per_mm);
      wood.outer.right.at[i] = static_cast<saw::Unit>(small.right.back() * saw::units_per_mm);
      border.push_back(border.back() + cell_length);
      small.factor.push_back(1.0);
      const auto mark = random() % 6;
      if (!graded || mark > 1) continue;
      small.factor.back() = mark == 0 ? 0.0 : 0.5;
      marks->touches.push_back({c, -10, 0, mark == 0 ? saw::MarkKind::hole : saw::MarkKind::knot});
    }
    wood.last_cell = cells - 1;
    if (graded) wood.marks = marks;
    const auto catalogue = saw::catalogue_of(order, mill, saw::prices_of(order, mill),
                                             saw::HeightGrid{0, 1, 10}, 24, 10);
    ASSERT_EQ(catalogue.classes.size(), 1U);
    const saw::FlitchClass& flitch = catalogue.classes[0];
    saw::Edger edger(catalogue, border);
    const double best = edger.best(flitch, wood);
    EXPECT_NEAR(best, try_all(small, order, mill.kerf, 0), 1e-9) << "trial " << trial;
    EXPECT_GE(bound_of(flitch, wood, border), best - 1e-9) << "trial " << trial;
    double paid = 0.0;
    double end = -1e9;
    for (const saw::Piece& piece : edger.layout(flitch, wood)) {
      const auto& product = order.products[static_cast<std::size_t>(piece.product)];
      const auto length = static_cast<std::size_t>(piece.length);
      EXPECT_GE(piece.start, end + mill.kerf - 1e-9) << "trial " << trial;
      end = piece.start + product.lengths[length];
      const int x = static_cast<int>(std::lround(piece.start));
      // Written in tenths of a mm, each edge rounded inwards.
      const double mean = mean_width(small, product.lengths[length], x);
      EXPECT_LE(piece.width, mean + 1e-6) << "trial " << trial;
      EXPECT_GE(piece.width, mean - 0.2 - 1e-6) << "trial " << trial;
      paid += worth_by_looking(small, product, length, x);
    }
    EXPECT_NEAR(paid, best, 1e-9) << "trial " << trial;
    with_slabs += best > 0.0 ? 1 : 0;
  }
  EXPECT_GE(with_slabs, 200);
}

double sum_of(const SawPlan& plan, const Order& order, bool live) {
  double sum = 0.0;
  for (const Board& board : plan.boards) {
    for (const Product& product : order.products) {
      if (product.name == board.product && product.live_edge == live) sum += board.value;
    }
  }
  return sum;
}

TEST(Slabs, AnOrderOfThemAloneIsSawnAndTheirEdgesAreTheLogs) {
  const LogShape shape = bowed(2100, 190, 170, 40);
  Order order;
  order.products = {slab("table slab", 60, 220, {1000, 1500, 2000}, 90)};
  PlanSettings settings = quick();
  settings.patterns = {Pattern::slabs};
  const SawPlan plan = plan_log(shape, order, Mill{}, settings);
  EXPECT_EQ(plan.pattern, "slabs");
  ASSERT_GE(plan.boards.size(), 3U);
  EXPECT_TRUE(replay(plan, shape).complete);
  for (const Board& board : plan.boards) {
    const LiveEdges edges = live_edges(board, shape);
    EXPECT_GE(edges.least_width, 220.0);
    // The log is known exactly; what is left between is the inset, rounding and cells of 50 mm.
    EXPECT_NEAR(edges.mean_width(), board.width, 3.0);
    EXPECT_NEAR(board.value, 90e-6 * board.width * board.length, 1e-6);
  }
  // In parts of their own the slabs follow the bow.
  const SawPlan parts = plan_log(shape, order, Mill{}, quick());
  EXPECT_TRUE(replay(parts, shape).complete);
  EXPECT_GE(parts.totals.net, plan.totals.net - 1e-9);
  for (const Cut& cut : plan.cuts) {
    const auto& kind = plan.setups[static_cast<std::size_t>(cut.setup) - 1].kind;
    EXPECT_NE(kind, SetupKind::edging) << "cut " << cut.n;
  }
}

/// A flitch of a cylinder is as wide as its narrower face: a chord.
TEST(Slabs, AreAsWideAsTheChordOfACylinder) {
  const LogShape shape = bowed(1000, 150, 150, 0);
  Order order;
  order.products = {slab("slab", 160, 200, {950}, 100)};
  order.products.front().wanted = 1;
  const SawPlan plan = plan_log(shape, order, Mill{}, quick());
  ASSERT_EQ(plan.boards.size(), 1U);
  // 2 sqrt(150^2 - 80^2) = 253.8 through the heart; 64 angles make a chord up to 0.4 mm shorter.
  EXPECT_NEAR(plan.boards.front().width, 253.8, 2.0);
}

TEST(Slabs, ShareALogWithBoardsAndNeverMakeItWorthLess) {
  const LogShape shape = bowed(1800, 180, 160, 15);
  Order boards = shapes::boards(27, {800, 1700}, 100, 150, 50);
  Order both = boards;
  both.products.push_back(slab("heart slab", 70, 240, {1700}, 120));
  const SawPlan edged = plan_log(shape, boards, Mill{}, quick());
  const SawPlan mixed = plan_log(shape, both, Mill{}, quick());
  EXPECT_TRUE(replay(mixed, shape).complete);
  EXPECT_GT(sum_of(mixed, both, true), 0.0);
  EXPECT_GT(sum_of(mixed, both, false), 0.0);
  EXPECT_GT(mixed.totals.net, edged.totals.net);
  PlanSettings alone = quick();
  alone.patterns = {Pattern::slabs};
  const SawPlan slabs = plan_log(shape, both, Mill{}, alone);
  EXPECT_EQ(sum_of(slabs, both, false), 0.0);
  EXPECT_GE(mixed.totals.net, slabs.totals.net - 1e-9);
  alone.patterns = {Pattern::live};
  const SawPlan live = plan_log(shape, both, Mill{}, alone);
  EXPECT_EQ(sum_of(live, both, true), 0.0);
  EXPECT_GE(mixed.totals.net, live.totals.net - 1e-9);
}

TEST(Slabs, AreNotSoldWithRotInTheirBevels) {
  LogShape shape = bowed(1200, 150, 150, 0);
  shape.marks.rot.push_back({40, 40});  // mm about the pith, from end to end
  Order order;
  order.products = {slab("slab", 50, 150, {1150}, 100)};
  const SawPlan plan = plan_log(shape, order, Mill{}, quick());
  ASSERT_FALSE(plan.boards.empty());
  for (const Board& board : plan.boards) {
    const double height = board.up.dot(board.corner);
    EXPECT_TRUE(height > 40.0 - 0.2 || height + board.thickness < -40.0 + 0.2) << height;
  }
}

TEST(Slabs, ReplayMissesOneThatIsNotThere) {
  const LogShape shape = bowed(1500, 180, 150, 25);
  Order order;
  order.products = {slab("slab", 60, 200, {700, 1400}, 90)};
  const SawPlan plan = plan_log(shape, order, Mill{}, quick());
  ASSERT_TRUE(replay(plan, shape).complete);
  // A slimmer log: too narrow, or narrower in the mean than is paid for.
  EXPECT_FALSE(replay(plan, bowed(1500, 177, 147, 25)).complete);
  SawPlan wider = plan;
  wider.boards.front().width += 4.0;
  wider.boards.front().corner -= 2.0 * wider.boards.front().across;
  wider.boards.front().value = order.products.front().value_of(
      wider.boards.front().length == 700 ? 0 : 1, wider.boards.front().width);
  wider.totals.value += wider.boards.front().value - plan.boards.front().value;
  EXPECT_FALSE(replay(wider, shape).complete);
  SawPlan aside = plan;
  aside.boards.front().corner += 6.0 * aside.boards.front().across;
  EXPECT_FALSE(replay(aside, shape).complete);
  // Ripped along one side, it has an edge that is not live.
  SawPlan ripped = plan;
  const Board& board = ripped.boards.front();
  kerfwright::Setup edging = setup_with_up(board.across, shape.length());
  edging.n = static_cast<int>(ripped.setups.size()) + 1;
  edging.kind = SetupKind::edging;
  ripped.setups.push_back(edging);
  Cut rip;
  rip.n = static_cast<int>(ripped.cuts.size()) + 1;
  rip.setup = edging.n;
  rip.piece = board.piece;
  rip.point = board.corner - 0.5 * ripped.mill.kerf * board.across;
  rip.normal = board.across;
  rip.kerf = ripped.mill.kerf;
  rip.above = "ripped";
  rip.below = "strip";
  ripped.cuts.push_back(rip);
  ripped.boards.front().piece = "ripped";
  EXPECT_FALSE(replay(ripped, shape).complete);
}

TEST(Slabs, AreSaidToSuitNothingWhereThereAreNone) {
  PlanSettings settings = quick();
  settings.patterns = {Pattern::slabs};
  const auto sentence = [&](const Order& order) -> std::string {
    try {
      plan_log(bowed(1200, 130, 120, 10), order, Mill{}, settings);
    } catch (const UserError& error) {
      EXPECT_EQ(error.fault(), Fault::no_product_fits);
      return error.what();
    }
    return "";
  };
  EXPECT_NE(sentence(shapes::boards(27, {800})).find("'slabs' suits no product"),
            std::string::npos);
  Order slabs;
  slabs.products = {slab("slab", 50, 150, {1000}, 80)};
  settings.patterns = {Pattern::live};
  EXPECT_NE(sentence(slabs).find("only slabs with live edges"), std::string::npos);
}

}  // namespace
}  // namespace kerfwright
