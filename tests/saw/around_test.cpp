#include "around.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <map>
#include <random>
#include <set>
#include <tuple>

#include "frame.hpp"
#include "kerfwright/saw/plan_log.hpp"
#include "kerfwright/saw/replay.hpp"
#include "lane_marks.hpp"
#include "shapes.hpp"

namespace kerfwright::saw {
namespace {

double draw(std::mt19937& random, double low, double high) {
  return low + (high - low) * static_cast<double>(random() % 1000) / 999.0;
}

LogShape small_log(std::mt19937& random, double length = 400, double radius = 70) {
  LogShape shape = shapes::bowed(length, radius, radius - draw(random, 0, 8), draw(random, 0, 14));
  shape.marks.pith =
      Pith{{draw(random, -8, 8), draw(random, -8, 8)}, {draw(random, -8, 8), draw(random, -8, 8)}};
  return shape;
}

/// Knots from the bark to the pith, and products that are paid by them.
void mark(LogShape& shape, Order& order, std::mt19937& random) {
  for (int i = 0; i < 3; ++i) {
    const double x = draw(random, 50, 350);
    const double angle = draw(random, 0, 6.28);
    shape.marks.knots.push_back(
        {{x + draw(random, 0, 20), 80 * std::cos(angle), 80 * std::sin(angle)},
         {x, 0, 0},
         draw(random, 8, 30),
         random() % 3 != 0});
  }
  for (Product& product : order.products) product.grades = Grades{1.0, 0.6, 0.3, 1.0};
}

Product product(std::string name, double thickness, double width, std::vector<double> lengths,
                std::vector<double> values) {
  Product made;
  made.name = std::move(name);
  made.thickness = thickness;
  made.width = width;
  made.lengths = std::move(lengths);
  made.values = std::move(values);
  return made;
}

Order small_order() {
  Order order;
  order.products = {product("lath", 16, 28, {150, 300}, {1.0, 2.6}),
                    product("board", 16, 60, {150, 390}, {2.6, 8.0}),
                    product("post", 48, 48, {390}, {20.0})};
  return order;
}

/// Every order of sawing the four faces at the levels of two ladders, tried one after the other
/// without bounds and without keeping anything but what a flitch is worth. Worked out from the
/// outlines: what lies between two heights and on the inner side of planes of the other direction.
class Everything {
 public:
  Everything(const Wood& wood, const Catalogue& catalogue, const std::array<Pose, 2>& poses,
             const Ladders& ladders, const AroundLimits& limits)
      : wood_(wood),
        catalogue_(catalogue),
        poses_(poses),
        ladders_(ladders),
        limits_(limits),
        edger_(catalogue, wood.border) {
    for (const Pose& pose : poses) profiles_.emplace_back(wood, pose, catalogue.grid);
  }

  double best() { return from({}, {}, -1, 0); }
  long tried() const { return tried_; }

 private:
  /// What lies between faces of the other direction, lean taken off, in tenths of a mm.
  FlitchWood wood_between(int d, const FlitchClass& flitch, int bottom, const Between& other) {
    FlitchWood seen;
    const auto i = static_cast<std::size_t>(d);
    profiles_[i].common(bottom, flitch.strips, seen.outer);
    seen.strip = bottom;
    seen.end_loss = flitch.thickness * std::abs(poses_[i].slope) + 0.02;
    seen.last_cell = wood_.cells() - 1;
    if (!other.lower && !other.upper) return seen;
    const Frame bed(poses_[i]);
    const Eigen::Vector3d across = Frame(poses_[1 - i]).up;  // square to the faces
    const double per_across = across.dot(bed.across);
    seen.lean = -across.dot(bed.along) / bed.along.x() / per_across;
    int low = -31000;
    int high = 31000;
    const double lower = other.lower ? catalogue_.grid.height(*other.lower) : 0;
    const double upper = other.upper ? catalogue_.grid.height(*other.upper) - catalogue_.kerf : 0;
    const bool left_is_lower = per_across > 0;
    const bool has_left = left_is_lower ? other.lower.has_value() : other.upper.has_value();
    const bool has_right = left_is_lower ? other.upper.has_value() : other.lower.has_value();
    const double left = (left_is_lower ? lower : upper) / per_across;
    const double right = (left_is_lower ? upper : lower) / per_across;
    if (has_left && has_right) {
      low = static_cast<int>(std::lround(left * 10));
      high = low + static_cast<int>(std::ceil((upper - lower) * 10 - 1e-6));
      seen.zero = low;
    } else if (has_left) {
      low = seen.zero = static_cast<int>(std::ceil(left * 10));
    } else {
      high = static_cast<int>(std::floor(right * 10));
      seen.zero = high + 40;  // a kerf of 4 mm beyond, as pitches count it
    }
    for (int c = 0; c < wood_.cells(); ++c) {
      const auto k = static_cast<std::size_t>(c);
      const double a = seen.lean * wood_.border[k] * 10;
      const double b = seen.lean * wood_.border[k + 1] * 10;
      const int l = seen.outer.left.at[k] - static_cast<int>(std::floor(std::min(a, b)));
      const int r = seen.outer.right.at[k] - static_cast<int>(std::ceil(std::max(a, b)));
      seen.outer.left.at[k] = static_cast<Unit>(std::clamp(std::max(l, low), -32768, 32767));
      seen.outer.right.at[k] = static_cast<Unit>(std::clamp(std::min(r, high), -32768, 32767));
    }
    return seen;
  }

  double worth(int d, std::size_t k, int bottom, const Between& other) {
    const auto key = std::tuple(d, k, bottom, other.lower, other.upper);
    const auto found = worths_.find(key);
    if (found != worths_.end()) return found->second;
    const FlitchClass& flitch = catalogue_.classes[k];
    FlitchWood seen = wood_between(d, flitch, bottom, other);
    if (catalogue_.by_place) {
      const HeightGrid& grid = catalogue_.grid;
      seen.marks = flitch_marks(wood_, poses_[static_cast<std::size_t>(d)], grid.height(bottom),
                                grid.step * flitch.strips, seen.lean, catalogue_.kerf);
    }
    return worths_[key] = static_cast<double>(static_cast<float>(edger_.best(flitch, seen)));
  }

  /// The best of all that may follow, once flitches that give something were taken in the directions `taken` and the
  /// face `up` was sawn last.
  double from(const Between& a, const Between& b, int up, int taken) {
    ++tried_;
    double best = taken == 3 ? 0.0 : -1e9;
    for (int d = 0; d < 2; ++d) {
      const Between& mine = d == 0 ? a : b;
      const Between& other = d == 0 ? b : a;
      if (mine.lower && mine.upper && (taken | 1 << d) == 3) {
        for (std::size_t k = 0; k < catalogue_.classes.size(); ++k) {
          if (*mine.lower + catalogue_.classes[k].pitch != *mine.upper) continue;
          const double heart = worth(d, k, *mine.lower, other);
          if (heart > 0.0) best = std::max(best, heart);
        }
      }
      for (const bool upper : {true, false}) {
        for (const int level : ladders_[static_cast<std::size_t>(d)]) {
          best = std::max(best, after_cut(a, b, up, taken, d, upper, level));
        }
      }
    }
    return best;
  }

  double after_cut(const Between& a, const Between& b, int up, int taken, int d, bool upper,
                   int level) {
    Between next = d == 0 ? a : b;
    const Between& other = d == 0 ? b : a;
    auto& face = upper ? next.upper : next.lower;
    const auto before = face;
    if (before && (upper ? *before - level : level - *before) < catalogue_.kerf_strips) return -1e9;
    face = level;
    if (next.lower && next.upper) {
      const double thick = catalogue_.grid.step * (*next.upper - *next.lower) - catalogue_.kerf;
      if (thick <= 0.0 || thick < limits_.lowest_cut - 1e-9) return -1e9;
    }
    const int face_up = 2 * d + (upper ? 0 : 1);
    const double cost = up < 0 || up == face_up ? 0.0 : limits_.turn_cost;
    const Between& first = d == 0 ? next : a;
    const Between& second = d == 0 ? b : next;
    double best = from(first, second, face_up, taken) - cost;
    for (std::size_t k = 0; k < catalogue_.classes.size() && before; ++k) {
      const int bottom = upper ? level : *before;
      if (bottom + catalogue_.classes[k].pitch != (upper ? *before : level)) continue;
      const double gives = worth(d, k, bottom, other);
      if (gives <= 0.0) continue;  // waste, which the line above counts
      best = std::max(best, gives - cost + from(first, second, face_up, taken | 1 << d));
    }
    return best;
  }

  const Wood& wood_;
  const Catalogue& catalogue_;
  std::array<Pose, 2> poses_;
  Ladders ladders_;
  AroundLimits limits_;
  Edger edger_;
  std::vector<Profile> profiles_;
  std::map<std::tuple<int, std::size_t, int, std::optional<int>, std::optional<int>>, double>
      worths_;
  long tried_ = 0;
};

/// Three levels or four: about a heart of 16 or 48 mm, and flitches beside it.
std::vector<int> small_ladder(std::mt19937& random, const HeightGrid& grid, bool fourth) {
  const int heart = random() % 2 == 0 ? 26 : 10;  // strips of 2 mm, kerf of 4 mm counted
  const int start = grid.levels / 2 - heart / 2 + static_cast<int>(random() % 7) - 3;
  std::vector<int> ladder = {start, start + heart};
  (random() % 2 == 0 ? ladder.push_back(start + heart + 10) : ladder.push_back(start - 10));
  const bool below = random() % 2 == 0;
  if (fourth) ladder.push_back(below ? start - 20 : start + heart + 20);
  std::sort(ladder.begin(), ladder.end());
  return ladder;
}

TEST(Around, IsWhatTryingEveryOrderGivesOnTwoHundredSmallLogs) {
  std::mt19937 random(41);
  Mill mill;
  mill.kerf = 4;
  mill.height_step = 2;
  int turned_back = 0;
  int worth_something = 0;
  int with_heart = 0;
  for (int trial = 0; trial < 210; ++trial) {
    LogShape shape = small_log(random);
    Order order = small_order();
    if (trial % 3 == 0) mark(shape, order, random);
    const Wood wood = wood_of(shape, 0.0, 0.1);
    const HeightGrid grid = grid_for(wood, mill.height_step, 10.0 / shape.length());
    const Catalogue catalogue =
        catalogue_of(order, mill, prices_of(order, mill), grid, wood.length(), wood.reach());
    const Pose pose{draw(random, 0, 3.1), draw(random, -6, 6) / shape.length()};
    const double slope = trial % 2 == 0 ? 0.0 : draw(random, -6, 6) / shape.length();
    const Ladders ladders = {small_ladder(random, grid, trial % 10 == 0),
                             small_ladder(random, grid, false)};
    const AroundLimits limits{trial % 4 == 1 ? 0.4 : 0.0, trial % 5 == 2 ? 25.0 : 0.0};
    AroundWorths worths(wood, catalogue, pose, slope);
    const AroundPlan plan = best_around(worths, ladders, limits, 0.0);
    Everything everything(wood, catalogue, {pose, quarter_turn(pose, slope)}, ladders, limits);
    ASSERT_NEAR(plan.worth, std::max(0.0, everything.best()), 1e-4) << "trial " << trial;
    ASSERT_GT(everything.tried(), 100);
    worth_something += plan.worth > 0.0 ? 1 : 0;
    with_heart += plan.heart ? 1 : 0;
    int changes = 0;
    for (std::size_t i = 1; i < plan.steps.size(); ++i) {
      changes += plan.steps[i].direction != plan.steps[i - 1].direction ? 1 : 0;
    }
    turned_back += changes > 1 ? 1 : 0;
  }
  EXPECT_GT(worth_something, 190);  // else the comparison would say little
  EXPECT_GT(with_heart, 5);
  EXPECT_GT(turned_back, 5);
}

PlanSettings quick(std::vector<Pattern> patterns) {
  PlanSettings settings = shapes::quick();
  settings.patterns = std::move(patterns);
  return settings;
}

/// A post and boards that fetch much where they are clear.
Order post_and_clear_boards() {
  Order order;
  order.products = {product("post", 100, 100, {1200}, {9.0}),
                    product("board", 27, 120, {600, 1200}, {2.6, 6.0}),
                    product("narrow board", 27, 80, {600, 1200}, {1.4, 3.4})};
  for (std::size_t i = 1; i < 3; ++i) order.products[i].grades = Grades{1.0, 0.4, 0.2, 1.0};
  return order;
}

/// Knots that end 60 mm from the pith: what grew over them is clear.
void grow_over_knots(LogShape& shape, std::mt19937& random) {
  for (int i = 0; i < 12; ++i) {
    const double x = 100 + 90 * i;
    const double angle = draw(random, 0, 6.28);
    shape.marks.knots.push_back(
        {{x, 60 * std::cos(angle), 60 * std::sin(angle)}, {x, 0, 0}, 18, true});
  }
}

TEST(Around, ClearBoardsComeOffAllFourSidesAndEveryBoardIsThere) {
  for (const double kerf : {6.0, 2.5}) {
    std::mt19937 random(8);
    LogShape shape = shapes::bowed(1250, 150, 142, 10);
    grow_over_knots(shape, random);
    Mill mill;
    mill.kerf = kerf;
    const Order order = post_and_clear_boards();
    const SawPlan plan = plan_log(shape, order, mill, quick({Pattern::around}));
    EXPECT_EQ(plan.pattern, "around");
    const Replay result = replay(plan, shape);
    EXPECT_TRUE(result.complete) << (result.sentences.empty() ? "" : result.sentences.front());
    std::set<long> turns;  // of faces from which something was sawn
    for (const auto& setup : plan.setups) {
      if (setup.kind != SetupKind::log && setup.kind != SetupKind::cant) continue;
      turns.insert(std::lround((setup.roll - plan.setups.front().roll + 360.0) / 90.0) % 4);
    }
    EXPECT_GE(turns.size(), 3U);
    EXPECT_GT(plan.boards.size(), 8U);
  }
}

TEST(Around, EveryCutIsParallelToTheBedAndThickEnoughAboveIt) {
  std::mt19937 random(9);
  LogShape shape = shapes::bowed(1250, 150, 135, 25);
  grow_over_knots(shape, random);
  const Mill mill;
  const SawPlan plan = plan_log(shape, post_and_clear_boards(), mill, quick({Pattern::around}));
  for (const Cut& cut : plan.cuts) {
    const auto& setup = plan.setups[static_cast<std::size_t>(cut.setup) - 1];
    EXPECT_GT(cut.normal.dot(setup_up(setup, shape.length())), 1.0 - 1e-9) << "cut " << cut.n;
  }
  EXPECT_TRUE(replay(plan, shape).complete);
}

TEST(Around, IsNeverWorseBesideOtherPatternsThanAnyAlone) {
  std::mt19937 random(2);
  LogShape shape = shapes::bowed(1250, 140, 130, 12);
  grow_over_knots(shape, random);
  const Order order = post_and_clear_boards();
  const double all = plan_log(shape, order, Mill{}, quick({})).totals.net;
  for (const Pattern pattern : {Pattern::live, Pattern::cant, Pattern::quarter, Pattern::around}) {
    const SawPlan alone = plan_log(shape, order, Mill{}, quick({pattern}));
    EXPECT_EQ(alone.pattern, pattern_name(pattern));
    EXPECT_GE(all, alone.totals.net - 1e-9) << pattern_name(pattern);
  }
}

}  // namespace
}  // namespace kerfwright::saw
