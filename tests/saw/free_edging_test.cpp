#include "free_edging.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <map>
#include <random>

#include "shapes.hpp"

namespace kerfwright::saw {
namespace {

constexpr int cells = 16;
constexpr double cell = 50.0;  // mm; places to cross-cut at are three apart

/// A flitch by the edges of the wood at its borders, whole mm, straight between them.
struct Bench {
  std::vector<int> left, right;
  std::vector<double> border;
};

/// Bent, tapered and rough, by numbers drawn at random.
Bench random_bench(std::mt19937& random) {
  const auto draw = [&](int from, int to) {
    return from + static_cast<int>(random() % static_cast<unsigned>(to - from + 1));
  };
  const double bow = draw(-45, 45);
  const double lean = draw(-40, 40);
  const double taper = draw(0, 25);
  const double width = draw(50, 95);
  Bench bench;
  for (int i = 0; i <= cells; ++i) {
    const double share = static_cast<double>(i) / cells;
    const double middle = bow * 4.0 * share * (1.0 - share) + lean * share;
    const double half = 0.5 * (width - taper * share);
    bench.left.push_back(static_cast<int>(std::lround(middle - half)) + draw(0, 3));
    bench.right.push_back(static_cast<int>(std::lround(middle + half)) - draw(0, 3));
    bench.border.push_back(cell * i);
  }
  return bench;
}

FlitchWood wood_of(const Bench& bench) {
  FlitchWood wood;
  wood.outer.left.at.fill(32767);
  wood.outer.right.at.fill(-32768);
  for (std::size_t c = 0; c < cells; ++c) {
    wood.outer.left.at[c] =
        static_cast<Unit>(units_per_mm * std::max(bench.left[c], bench.left[c + 1]));
    wood.outer.right.at[c] =
        static_cast<Unit>(units_per_mm * std::min(bench.right[c], bench.right[c + 1]));
  }
  wood.last_cell = cells - 1;
  wood.end_loss = 0.3;
  return wood;
}

Order small_order(std::mt19937& random) {
  const auto value = [&] { return 1.0 + static_cast<double>(random() % 20) / 10.0; };
  Order order;
  order.products = {{"wide", 25, 36, {180, 310, 640}, {1.6 * value(), 3 * value(), 8}, {}, 0.0, {}},
                    {"narrow", 25, 21, {150, 420}, {value(), 3 * value()}, {}, 0.0, {}}};
  return order;
}

/// Best pieces end to end in a run, by recursion.
double run_by_recursion(const Product& product, double kerf, double run) {
  double best = 0.0;
  for (std::size_t i = 0; i < product.lengths.size(); ++i) {
    if (product.lengths[i] > run) continue;
    best = std::max(best, product.value_of(i) +
                              run_by_recursion(product, kerf, run - product.lengths[i] - kerf));
  }
  return best;
}

/// Everything tried, one after the other: places, leans, lanes.
class Everything {
 public:
  Everything(const Bench& bench, const FlitchWood& wood, const Order& order, double kerf)
      : bench_(bench), wood_(wood), order_(order), kerf_(kerf) {}

  double best() {
    const std::vector<int> places = {0, 3, 6, 10, 13, 16};  // nearest to fifths of 800 mm
    double most = segment(0, cells);
    for (std::size_t i = 1; i + 1 < places.size(); ++i) {
      most = std::max(most, segment(0, places[i]) + segment(places[i], cells));
      for (std::size_t j = i + 1; j + 1 < places.size(); ++j) {
        most = std::max(most, segment(0, places[i]) + segment(places[i], places[j]) +
                                  segment(places[j], cells));
      }
    }
    return most;
  }

  double level() const { return lanes(0, cells, 0.0, -200); }

 private:
  double segment(int from, int to) {
    const auto known = segments_.find({from, to});
    if (known != segments_.end()) return known->second;
    double most = 0.0;
    for (const double lean : leans_of(wood_, bench_.border, from, to - 1)) {
      most = std::max(most, lanes(from, to, lean, -200));
    }
    return segments_[{from, to}] = most;
  }

  /// The best of all lanes from `at` on, each place on the bench in turn.
  double lanes(int from, int to, double lean, int at) const {
    std::vector<double> most(501, 0.0);
    for (int q = 299; q >= at; --q) {
      const auto here = static_cast<std::size_t>(q - at);
      most[here] = most[here + 1];
      for (const Product& product : order_.products) {
        const double worth = lane(from, to, lean, q, product);
        const auto next = static_cast<std::size_t>(q - at + product.width + kerf_);
        const double rest = next < most.size() ? most[next] : 0.0;
        if (worth > 0.0) most[here] = std::max(most[here], worth + rest);
      }
    }
    return most[0];
  }

  /// What the wood at a border allows, as far as the cells on both sides tell.
  double edge(int border, int from_cell, bool left) const {
    const auto value = [&](int c) {
      const auto i = static_cast<std::size_t>(c);
      return static_cast<double>(left ? wood_.outer.left.at[i] : wood_.outer.right.at[i]) / 10.0;
    };
    const int other = border == from_cell ? border - 1 : border;
    if (other < 0 || other >= cells) return value(from_cell);
    return left ? std::min(value(from_cell), value(other))
                : std::max(value(from_cell), value(other));
  }

  bool clear(int c, double lean, double q, double width) const {
    const auto i = static_cast<std::size_t>(c);
    if (wood_.outer.left.at[i] > wood_.outer.right.at[i]) return false;
    for (const int border : {c, c + 1}) {
      const double x = bench_.border[static_cast<std::size_t>(border)];
      const double scale = std::sqrt(1.0 + lean * lean);
      const double spare = lean != 0.0 ? lean_spare(1.0) : 0.0;
      if ((edge(border, c, true) - lean * x) / scale > q - spare + 1e-9) return false;
      if ((edge(border, c, false) - lean * x) / scale < q + width + spare - 1e-9) return false;
    }
    return true;
  }

  double lane(int from, int to, double lean, double q, const Product& product) const {
    double sum = 0.0;
    for (int c = from; c < to; ++c) {
      if (!clear(c, lean, q, product.width)) continue;
      const int first = c;
      while (c < to && clear(c, lean, q, product.width)) ++c;
      double length = cell * (c - first) * std::sqrt(1.0 + lean * lean);
      if (first == from && from > 0) length -= 0.5 * kerf_ + cross_cut_spare(1.0);
      if (c == to && to < cells) length -= 0.5 * kerf_ + cross_cut_spare(1.0);
      length -= wood_.end_loss + product.width * std::abs(lean);
      sum += run_by_recursion(product, kerf_, length);
    }
    return sum;
  }

  const Bench& bench_;
  const FlitchWood& wood_;
  const Order& order_;
  double kerf_;
  std::map<std::pair<int, int>, double> segments_;
};

/// A piece on the bench: its corners, and the segment it must lie in.
struct Rectangle {
  double x = 0, y = 0, length = 0, width = 0, lean = 0;
  double from = 0, to = 0;
  std::pair<double, double> corner(double along, double across) const {
    const double scale = std::sqrt(1.0 + lean * lean);
    return {x + (along - lean * across) / scale, y + (lean * along + across) / scale};
  }
};

double between(const std::vector<int>& edge, double x) {
  const double at = std::clamp(x / cell, 0.0, cells - 1e-9);
  const auto i = static_cast<std::size_t>(at);
  return edge[i] + (at - std::floor(at)) * (edge[i + 1] - edge[i]);
}

/// How far a rectangle stands out of the wood or its segment, mm.
double stands_out(const Bench& bench, const Rectangle& piece) {
  double worst = -1e9;
  for (int i = 0; i <= 200; ++i) {
    for (const double across : {0.0, piece.width}) {
      const auto [x, y] = piece.corner(piece.length * i / 200, across);
      worst = std::max({worst, piece.from - x, x - piece.to, between(bench.left, x) - y,
                        y - between(bench.right, x)});
    }
  }
  return worst;
}

std::vector<Rectangle> rectangles(const Edging& edging, const FlitchWood& wood, const Order& order,
                                  double room) {
  std::vector<Rectangle> found;
  for (const Piece& piece : edging.pieces) {
    const Segment& segment = edging.segments[piece.segment];
    const Product& product = order.products[static_cast<std::size_t>(piece.product)];
    const double lean = segment.wood.lean;
    // Square to the lanes and along them, from the butt end of the chord.
    const double q = static_cast<double>(piece.left) / units_per_mm;
    const double nearest = piece.start - 0.5 * (wood.end_loss + product.width * std::abs(lean));
    const double p = nearest + lean * q + std::max(0.0, lean * product.width);
    Rectangle made;
    made.lean = lean;
    made.length = product.lengths[static_cast<std::size_t>(piece.length)];
    made.width = product.width;
    made.x = (p - lean * q) / segment.scale;
    made.y = (lean * p + q) / segment.scale;
    const bool cut_before = segment.first_cell > 0;
    const bool cut_after = segment.last_cell + 1 < cells;
    made.from = cell * segment.first_cell + (cut_before ? room - cross_cut_spare(1.0) : 0.0);
    made.to = cell * (segment.last_cell + 1) - (cut_after ? room - cross_cut_spare(1.0) : 0.0);
    found.push_back(made);
  }
  return found;
}

struct Count {
  int better = 0, cut_across = 0, leaning = 0;
};

/// Recipe: bow and lean up to 45 mm on 800, taper up to 25, 50 to 95 mm wide, edges rough by 3 mm;
/// two products with prices drawn at random.
TEST(FreeEdger, EqualsTryingEverythingOnRandomFlitches) {
  std::mt19937 random(11);
  Count count;
  for (int trial = 0; trial < 220; ++trial) {
    const Order order = small_order(random);
    Mill mill;
    mill.kerf = 4;
    const HeightGrid grid{0, 1, 60};
    const Catalogue catalogue =
        catalogue_of(order, mill, prices_of(order, mill), grid, cell * cells, 300);
    ASSERT_EQ(catalogue.classes.size(), 1U);
    const Bench bench = random_bench(random);
    const FlitchWood wood = wood_of(bench);
    FreeEdger edger(catalogue, bench.border, true);
    const Edging edging = edger.best(catalogue.classes[0], wood);
    Everything everything(bench, wood, order, mill.kerf);
    EXPECT_NEAR(edging.worth, everything.best(), 1e-4) << "trial " << trial;
    EXPECT_GE(edger.bound(catalogue.classes[0], wood), edging.worth - 1e-5) << "trial " << trial;
    double pieces = 0.0;
    for (const Piece& piece : edging.pieces) {
      pieces += order.products[static_cast<std::size_t>(piece.product)].value_of(
          static_cast<std::size_t>(piece.length));
    }
    EXPECT_NEAR(pieces, edging.worth, 1e-4) << "trial " << trial;
    for (const Rectangle& piece : rectangles(edging, wood, order, edger.room())) {
      EXPECT_LE(stands_out(bench, piece), 1e-6) << "trial " << trial;
    }
    const double level = Edger(catalogue, bench.border).best(catalogue.classes[0], wood);
    EXPECT_NEAR(level, everything.level(), 1e-4) << "trial " << trial;
    EXPECT_GE(edging.worth, level - 1e-5) << "trial " << trial;
    count.better += edging.worth > level + 1e-5 ? 1 : 0;
    count.cut_across += edging.segments.size() > 1 ? 1 : 0;
    for (const Segment& segment : edging.segments) count.leaning += segment.scale > 1.0 ? 1 : 0;
  }
  // Else the test would say little.
  EXPECT_GT(count.better, 100);
  EXPECT_GT(count.cut_across, 50);
  EXPECT_GT(count.leaning, 100);
}

/// Bent so far at one of its places to be cut that level lanes are short; straight on both sides.
TEST(FreeEdger, CrossCutsABowedFlitchFirst) {
  Order order;
  order.products = {{"lath", 25, 40, {280, 480}, {1, 2}, {}, 0.0, {}}};
  Mill mill;
  mill.kerf = 4;
  const Catalogue catalogue =
      catalogue_of(order, mill, prices_of(order, mill), HeightGrid{0, 1, 60}, cell * cells, 300);
  Bench bench;
  for (int i = 0; i <= cells; ++i) {
    const int bow = 4 * std::min(i, 20 - i);
    bench.left.push_back(bow);
    bench.right.push_back(bow + 55);
    bench.border.push_back(cell * i);
  }
  FreeEdger edger(catalogue, bench.border, true);
  const Edging edging = edger.best(catalogue.classes[0], wood_of(bench));
  EXPECT_EQ(edging.pieces.size(), 2U);
  ASSERT_EQ(edging.segments.size(), 2U);
  EXPECT_NEAR(edging.segments[0].wood.lean, 0.08, 1e-9);
  EXPECT_NEAR(edging.segments[1].wood.lean, -0.08, 1e-9);
}

/// Lengths, values and kerf drawn at random; every run of whole mm.
TEST(Trimming, EqualsPlainRecursionOnRandomProducts) {
  std::mt19937 random(5);
  for (int trial = 0; trial < 200; ++trial) {
    Order order;
    order.products = {{"piece", 20, 30, {}, {}, {}, 0.0, {}}};
    Product& product = order.products[0];
    for (int i = 0; i < 3; ++i) {
      product.lengths.push_back(6 + 7 * i + static_cast<double>(random() % 7));
      product.values.push_back(product.lengths.back() * (1.0 + static_cast<double>(random() % 10)));
    }
    Mill mill;
    mill.kerf = 1.0 + static_cast<double>(random() % 5);
    const Catalogue catalogue =
        catalogue_of(order, mill, prices_of(order, mill), HeightGrid{0, 1, 60}, 90, 60);
    const auto& worth = catalogue.classes.at(0).lanes.at(0).trimming.worth;
    ASSERT_EQ(worth.size(), 91U);
    for (std::size_t run = 0; run < worth.size(); ++run) {
      EXPECT_NEAR(worth[run], run_by_recursion(product, mill.kerf, static_cast<double>(run)), 1e-3)
          << "trial " << trial << ", run " << run;
    }
  }
}

}  // namespace
}  // namespace kerfwright::saw
