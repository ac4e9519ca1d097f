#include "lane_marks.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <random>

#include "kerfwright/saw/replay.hpp"
#include "shapes.hpp"

namespace kerfwright::saw {
namespace {

constexpr int cells = 8;
constexpr int width = 3;  // mm
constexpr double kerf = 1;

/// A lane over cells of 2 mm with marks in some of them.
struct Instance {
  Order order;
  std::vector<double> border;
  FlitchWood wood;
  std::vector<int> clear;     // [cell]
  std::vector<double> price;  // [cell] factor of the marks in it; 0 = not sold
};

Instance random_instance(std::mt19937& random) {
  Instance made;
  Product product = shapes::product("piece", 2, width, {3, 5}, 0);
  product.price_per_m3.reset();
  product.values = {4, 7.5};
  product.grades = Grades{1.0, 0.7, 0.4, 1.0};
  made.order.products = {product};
  auto marks = std::make_shared<FlitchMarks>();
  made.wood.outer.left.at.fill(32767);
  made.wood.outer.right.at.fill(-32768);
  for (int c = 0; c <= cells; ++c) made.border.push_back(2.0 * c);
  for (int c = 0; c < cells; ++c) {
    const auto i = static_cast<std::size_t>(c);
    made.clear.push_back(random() % 8 != 0 ? 1 : 0);
    if (made.clear.back() == 1) {
      made.wood.outer.left.at[i] = 0;
      made.wood.outer.right.at[i] = 200;
    }
    const auto kind = random() % 8;
    double price = 1.0;
    const auto mark = [&](MarkKind of, double factor) {
      marks->touches.push_back({c, 10, 20, of});
      price = std::min(price, factor);
    };
    if (kind == 0) mark(MarkKind::hole, 0.0);
    if (kind == 1 || kind == 2) mark(MarkKind::knot, 0.7);
    if (kind == 2 || kind == 3) mark(MarkKind::pith, 0.4);
    made.price.push_back(price);
  }
  made.wood.marks = marks;
  made.wood.last_cell = cells - 1;
  return made;
}

/// Every way to lay pieces from x on, at every tenth of a millimetre.
double by_recursion(const Instance& instance, const Product& product, int tenths) {
  if (tenths >= 2 * cells * 10) return 0.0;
  double best = by_recursion(instance, product, tenths + 5);
  for (std::size_t i = 0; i < product.lengths.size(); ++i) {
    const int end = tenths + static_cast<int>(10 * product.lengths[i]);
    if (end > 2 * cells * 10) continue;
    double factor = 1.0;
    bool clear = true;
    for (int c = tenths / 20; c < cells && 20 * c < end; ++c) {
      clear = clear && instance.clear[static_cast<std::size_t>(c)] == 1;
      factor = std::min(factor, instance.price[static_cast<std::size_t>(c)]);
    }
    if (!clear) continue;
    const double worth = factor * product.value_of(i);
    if (worth <= 0.0) continue;
    best =
        std::max(best, worth + by_recursion(instance, product, end + static_cast<int>(10 * kerf)));
  }
  return best;
}

TEST(LaneMarks, EqualsPlainRecursionOverEveryPlaceOfEveryPiece) {
  std::mt19937 random(11);
  Mill mill;
  mill.kerf = kerf;
  int marked = 0;
  for (int trial = 0; trial < 300; ++trial) {
    const Instance instance = random_instance(random);
    const Catalogue catalogue = catalogue_of(instance.order, mill, prices_of(instance.order, mill),
                                             HeightGrid{0, 1, 10}, 2.0 * cells, 10);
    const Lane& lane = catalogue.classes.at(0).lanes.at(0);
    LaneMarks marks(lane, instance.wood, instance.border, kerf, 0.0);
    std::vector<LanePiece> pieces;
    const double best = marks.best(instance.wood.outer, 0, &pieces);
    const double expected = by_recursion(instance, instance.order.products[0], 0);
    EXPECT_NEAR(best, expected, 1e-5) << "trial " << trial;
    EXPECT_NEAR(
        LaneMarks(lane, instance.wood, instance.border, kerf, 0.0).best(instance.wood.outer, 0),
        best, 1e-9);
    double after = -1.0;
    for (const LanePiece& piece : pieces) {
      EXPECT_GE(piece.start, after - 1e-9) << "trial " << trial;
      after = piece.start + catalogue.lengths[0][static_cast<std::size_t>(piece.length)] + kerf;
    }
    EXPECT_LE(after - kerf, 2.0 * cells + 1e-9);
    marked += expected < 20.0 ? 1 : 0;
  }
  EXPECT_GT(marked, 50);
}

/// The same with wane in some cells, of which a piece may have its share.
double waney_by_recursion(const std::vector<int>& kind, const Product& product, int mm) {
  if (mm >= 2 * cells) return 0.0;
  double best = waney_by_recursion(kind, product, mm + 1);
  for (std::size_t i = 0; i < product.lengths.size(); ++i) {
    const int end = mm + static_cast<int>(product.lengths[i]);
    int waney = 0;
    bool wood = end <= 2 * cells;
    for (int x = mm; x < end && wood; ++x) {
      const int here = kind[static_cast<std::size_t>(x / 2)];
      wood = here != 0;
      waney += here == 1 ? 1 : 0;
    }
    if (!wood || waney > product.wane.length * product.lengths[i] + 1e-9) continue;
    best = std::max(best, product.value_of(i) +
                              waney_by_recursion(kind, product, end + static_cast<int>(kerf)));
  }
  return best;
}

TEST(LaneMarks, WaneOnAShareOfTheLengthEqualsPlainRecursionOverEveryMillimetre) {
  std::mt19937 random(12);
  Mill mill;
  mill.kerf = kerf;
  int narrower = 0;
  for (int trial = 0; trial < 300; ++trial) {
    Order order;
    order.products = {shapes::product("piece", 4, width, {3, 5}, 0)};
    Product& product = order.products[0];
    product.price_per_m3.reset();
    product.values = {4, 7.5};
    product.wane = {0.25, 0.34, 0.2 * static_cast<double>(1 + random() % 4)};
    const Catalogue catalogue =
        catalogue_of(order, mill, prices_of(order, mill), HeightGrid{0, 1, 10}, 2.0 * cells, 10);
    FlitchWood wood;
    for (Interval* rows : {&wood.outer, &wood.inner[0]}) {
      rows->left.at.fill(32767);
      rows->right.at.fill(-32768);
    }
    std::vector<double> border = {0};
    std::vector<int> kind;  // 0 no wood, 1 with wane, 2 full
    for (int c = 0; c < cells; ++c) {
      const auto i = static_cast<std::size_t>(c);
      border.push_back(2.0 * (c + 1));
      kind.push_back(static_cast<int>(std::min(2U, static_cast<unsigned>(random() % 6))));
      if (kind.back() == 0) continue;
      wood.inner[0].left.at[i] = 0;
      wood.inner[0].right.at[i] = 30;
      wood.outer.left.at[i] = kind.back() == 2 ? 0 : 5;
      wood.outer.right.at[i] = 30;
    }
    wood.last_cell = cells - 1;
    Edger edger(catalogue, border);
    const double best = edger.best(catalogue.classes.at(0), wood);
    EXPECT_NEAR(best, waney_by_recursion(kind, product, 0), 1e-5) << "trial " << trial;
    Product anywhere = product;
    anywhere.wane.length = 1.0;
    narrower += best < waney_by_recursion(kind, anywhere, 0) - 1e-4 ? 1 : 0;
  }
  EXPECT_GT(narrower, 20);
}

TEST(Plan, WaneOnAPartOfTheLengthReplaysAndLiesBetweenNoneAndAll) {
  const LogShape shape = shapes::bowed(1250, 150, 135, 10);
  Order order = shapes::boards(50, {600, 1200}, 100, 175, 25);
  double before = 0.0;
  for (const double share : {0.0, 0.3, 1.0}) {
    for (Product& product : order.products) product.wane = {0.3, 0.2, share};
    PlanSettings settings = shapes::quick();
    settings.turn_step = 45;
    settings.lifts = 1;
    settings.patterns = {Pattern::live};
    const SawPlan plan = plan_log(shape, order, Mill{}, settings);
    const Replay found = replay(plan, shape);
    EXPECT_TRUE(found.complete) << (found.sentences.empty() ? "" : found.sentences.front());
    EXPECT_GE(plan.totals.value, before - 1e-9) << share;
    before = plan.totals.value;
  }
}

/// A straight round log, known exactly, with marks.
LogShape round_log() { return shapes::bowed(1250, 120, 120, 0); }

Order graded() {
  Order order = shapes::boards(27, {600, 1200}, 80, 160, 40);
  for (Product& product : order.products) product.grades = Grades{1.0, 0.8, 0.5, 0.5};
  return order;
}

SawPlan planned(const LogShape& shape, const Order& order) {
  Mill mill;
  mill.kerf = 4;
  PlanSettings settings = shapes::quick();
  settings.turn_step = 30;
  settings.lifts = 1;
  settings.patterns = {Pattern::live, Pattern::cant};
  SawPlan plan = plan_log(shape, order, mill, settings);
  const Replay found = replay(plan, shape);
  EXPECT_TRUE(found.complete) << (found.sentences.empty() ? "" : found.sentences.front());
  return plan;
}

/// Distance of the log's straight middle from a board that lies along it, mm.
double distance_to_middle(const Board& board) {
  const Eigen::Vector3d arm(0.0, -board.corner.y(), -board.corner.z());
  const double b = arm.dot(board.across);
  const double c = arm.dot(board.up);
  return std::hypot(b - std::clamp(b, 0.0, board.width), c - std::clamp(c, 0.0, board.thickness));
}

int count_grade(const SawPlan& plan, const std::string& grade) {
  return static_cast<int>(std::count_if(plan.boards.begin(), plan.boards.end(),
                                        [&](const Board& board) { return board.grade == grade; }));
}

TEST(Marks, BoardsThatHoldThePithSayItAndFetchLess) {
  const LogShape shape = round_log();
  const SawPlan plan = planned(shape, graded());
  for (const Board& board : plan.boards) {
    const bool at_pith = distance_to_middle(board) < pith_radius;
    EXPECT_EQ(board.grade, at_pith ? "pith" : "clear");
    const auto product =
        std::find_if(plan.order.products.begin(), plan.order.products.end(),
                     [&](const Product& each) { return each.name == board.product; });
    const auto length = std::find(product->lengths.begin(), product->lengths.end(), board.length);
    const double full =
        product->value_of(static_cast<std::size_t>(length - product->lengths.begin()));
    EXPECT_NEAR(board.value, (at_pith ? 0.5 : 1.0) * full, 1e-9);
  }
  EXPECT_GT(count_grade(plan, "clear"), 0);
  Order not_sold = graded();
  for (Product& product : not_sold.products) product.grades->pith.reset();
  EXPECT_EQ(count_grade(planned(shape, not_sold), "pith"), 0);
  Order plain = graded();
  for (Product& product : plain.products) product.grades.reset();
  EXPECT_GE(planned(shape, plain).totals.value, plan.totals.value - 1e-9);
}

TEST(Marks, RotIsNeverSoldAndMoreRotNeverBringsMore) {
  double before = 1e9;
  for (const double radius : {0.0, 20.0, 50.0, 80.0}) {
    LogShape shape = round_log();
    if (radius > 0.0) shape.marks.rot.push_back({radius, radius});
    const SawPlan plan = planned(shape, shapes::boards(27, {600, 1200}, 80, 160, 40));
    for (const Board& board : plan.boards) {
      EXPECT_TRUE(worth_of(board, plan.order.products[0], WoodMarks(shape)).sold);
    }
    EXPECT_LE(plan.totals.value, before + 1e-9) << radius;
    before = plan.totals.value;
  }
}

TEST(Marks, SplitsKnotsAndMetalLowerWhatComesOut) {
  const Order order = graded();
  const SawPlan clean = planned(round_log(), order);
  LogShape split = round_log();
  split.marks.splits.push_back({true, 300, {0, 1}, true});
  EXPECT_LE(planned(split, order).totals.value, clean.totals.value + 1e-9);
  LogShape knotty = round_log();
  for (const double x : {300.0, 700.0, 1000.0}) {
    knotty.marks.knots.push_back({{x, 120, 0}, {x, 0, 0}, 50, true});
    knotty.marks.knots.push_back({{x, 0, 120}, {x, 0, 0}, 40, true});
  }
  const SawPlan with_knots = planned(knotty, order);
  EXPECT_LT(with_knots.totals.value, clean.totals.value);
  for (Knot& knot : knotty.marks.knots) knot.sound = false;
  EXPECT_LE(planned(knotty, order).totals.value, with_knots.totals.value + 1e-9);
}

TEST(Marks, TheSawKeepsClearOfMetalAndReplaySeesItWhenItDoesNot) {
  LogShape shape = round_log();
  shape.marks.metal.push_back({{600, 60, 20}, 15});
  const Order order = shapes::boards(27, {600, 1200}, 80, 160, 40);
  const SawPlan plan = planned(shape, order);
  EXPECT_FALSE(plan.boards.empty());
  // The same log without the nail is sawn so that the nail would be met by some plan.
  LogShape elsewhere = shape;
  int refused = 0;
  for (double z = -110; z <= 110; z += 5) {
    elsewhere.marks.metal.front().place.z() = z;
    refused += replay(plan, elsewhere).complete ? 0 : 1;
  }
  EXPECT_GT(refused, 5);
}

}  // namespace
}  // namespace kerfwright::saw
