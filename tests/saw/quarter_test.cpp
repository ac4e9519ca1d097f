#include <gtest/gtest.h>

#include <cmath>
#include <functional>
#include <numbers>
#include <random>

#include "frame.hpp"
#include "kerfwright/saw/plan_log.hpp"
#include "kerfwright/saw/replay.hpp"
#include "quarter_search.hpp"

namespace kerfwright::saw {
namespace {

double draw(std::mt19937& random, double low, double high) {
  return low + (high - low) * static_cast<double>(random() % 1000) / 999.0;
}

LogShape small_log(std::mt19937& random, double length = 400, double radius = 60) {
  LogShape shape;
  shape.angles = 32;
  const double sweep = draw(random, 0, 12);
  const double taper = draw(random, 0, 10);
  const double oval = draw(random, 0, 8);
  for (double x = 0; x <= length; x += 50) {
    const double share = x / length;
    shape.stations.push_back(x);
    shape.axis.emplace_back(4 * sweep * share * (1 - share), 0.0);
    shape.radius.emplace_back();
    for (int j = 0; j < 32; ++j) {
      const double wave = oval * std::cos(4.0 * std::numbers::pi * j / 32);
      shape.radius.back().push_back(static_cast<float>(radius + wave - taper * share));
    }
    shape.sigma.emplace_back(32, 0.0F);
    shape.seen.emplace_back(32, static_cast<unsigned char>(1));
  }
  return shape;
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
  order.products = {product("lath", 10, 20, {150, 300}, {1.0, 2.6}),
                    product("board", 10, 36, {150, 390}, {2.2, 7.0}),
                    product("stave", 16, 26, {190, 390}, {2.9, 6.5})};
  return order;
}

/// The most that stacks on a flat face can be worth, by trying everything: at every height either
/// nothing or any of the boards that fit, a kerf above each, and a cut below all but the face.
double try_all_stacks(const std::vector<std::vector<double>>& worth,
                      const std::vector<StackItem>& items, int face, int kerf, int levels) {
  std::vector<double> known(static_cast<std::size_t>(levels) + 200, -1.0);
  const std::function<double(int)> above = [&](int b) -> double {
    if (b >= levels) return 0.0;
    double& best = known[static_cast<std::size_t>(b)];
    if (best >= 0.0) return best;
    best = above(b + 1);
    for (std::size_t k = 0; k < items.size(); ++k) {
      if (b + items[k].strips > levels) continue;
      const double here = worth[k][static_cast<std::size_t>(b)];
      if (here > 0.0) best = std::max(best, here + above(b + items[k].pitch));
    }
    return best;
  };
  double best = above(face + kerf);
  for (std::size_t k = 0; k < items.size(); ++k) {
    const double here = worth[k][static_cast<std::size_t>(face)];
    if (here > 0.0) best = std::max(best, here + above(face + items[k].pitch));
  }
  return best;
}

/// The wood of a quarter as the edger is to see it, worked out here from the outlines alone: what
/// lies between two heights and on its side of the other plane, lean taken off.
FlitchWood quarter_wood(const Profile& profile, const FlitchClass& flitch, const Wood& wood,
                        int strip, const Pose& pose, const Eigen::Vector3d& inwards,
                        double offset) {
  FlitchWood seen;
  profile.common(strip, flitch.strips, seen.outer);
  const Frame bed(pose);
  const double per_across = inwards.dot(bed.across);
  const double lean = -inwards.dot(bed.along) / bed.along.x() / per_across;
  const double at = offset / per_across;
  const bool left = per_across > 0.0;
  const int face =
      static_cast<int>(left ? std::ceil(at * units_per_mm) : std::floor(at * units_per_mm));
  for (int c = 0; c < wood.cells(); ++c) {
    const auto i = static_cast<std::size_t>(c);
    const double a = lean * wood.border[i] * units_per_mm;
    const double b = lean * wood.border[i + 1] * units_per_mm;
    int low = seen.outer.left.at[i] - static_cast<int>(std::floor(std::min(a, b)));
    int high = seen.outer.right.at[i] - static_cast<int>(std::ceil(std::max(a, b)));
    if (left) low = std::max(low, face);
    if (!left) high = std::min(high, face);
    seen.outer.left.at[i] = static_cast<Unit>(std::clamp(low, -32768, 32767));
    seen.outer.right.at[i] = static_cast<Unit>(std::clamp(high, -32768, 32767));
  }
  seen.strip = strip;
  seen.end_loss = flitch.thickness * std::abs(pose.slope) + 0.02;
  seen.lean = lean;
  seen.zero = left ? face : face + 40;  // a kerf of 4 mm beyond, as pitches count it
  seen.last_cell = wood.cells() - 1;
  return seen;
}

double try_all_quarters(const Wood& wood, const Catalogue& catalogue, const Pose& pose,
                        double first, double second) {
  const Pose turned = quarter_turn(pose, 0.0);
  const Eigen::Vector3d up1 = Frame(pose).up;
  const Eigen::Vector3d up2 = Frame(turned).up;
  const double half = 0.5 * catalogue.kerf;
  Edger edger(catalogue, wood.border);
  double sum = 0.0;
  for (const double s1 : {1.0, -1.0}) {
    for (const double s2 : {1.0, -1.0}) {
      double best = 0.0;
      for (const bool on_first : {true, false}) {
        const Pose& base = on_first ? pose : turned;
        const double sign = on_first ? s1 : s2;
        const Pose lying = sign > 0.0 ? base : Pose{base.roll + std::numbers::pi, -base.slope};
        const Eigen::Vector3d inwards = on_first ? Eigen::Vector3d(s2 * up2) : s1 * up1;
        const double offset = on_first ? s2 * second + half : s1 * first + half;
        const double floor = (on_first ? s1 * first : s2 * second) + half;
        const Profile profile(wood, lying, catalogue.grid);
        const auto& grid = catalogue.grid;
        const int face = static_cast<int>(std::ceil((floor - grid.origin) / grid.step - 1e-6));
        std::vector<std::vector<double>> worth;
        std::vector<StackItem> items;
        for (const FlitchClass& flitch : catalogue.classes) {
          items.push_back({flitch.strips, flitch.pitch});
          worth.emplace_back(static_cast<std::size_t>(grid.levels), 0.0);
          for (int b = face; b + flitch.strips <= grid.levels; ++b) {
            const FlitchWood seen = quarter_wood(profile, flitch, wood, b, lying, inwards, offset);
            worth.back()[static_cast<std::size_t>(b)] =
                static_cast<double>(static_cast<float>(edger.best(flitch, seen)));
          }
        }
        best =
            std::max(best, try_all_stacks(worth, items, face, catalogue.kerf_strips, grid.levels));
      }
      sum += best;
    }
  }
  return sum;
}

TEST(Quarter, IsWhatTryingEveryStackGivesOnTwoHundredSmallLogs) {
  std::mt19937 random(17);
  Mill mill;
  mill.kerf = 4;
  mill.height_step = 2;
  const Order order = small_order();
  int all_four = 0;
  for (int trial = 0; trial < 200; ++trial) {
    const LogShape shape = small_log(random);
    const Wood wood = wood_of(shape, 0.0, 0.1);
    const HeightGrid grid = grid_for(wood, mill.height_step, 8.0 / shape.length());
    const Catalogue catalogue =
        catalogue_of(order, mill, prices_of(order, mill), grid, wood.length(), wood.reach());
    const Pose pose{draw(random, 0, 3.1), draw(random, -8, 8) / shape.length()};
    SearchSpace space;
    space.slopes = {0.0};
    const double first = 2.0 * std::round(draw(random, -8, 8));
    const double second = 2.0 * std::round(draw(random, -8, 8));
    const LogPlan plan = plan_quarters(wood, catalogue, space, pose, first, second, -1e9);
    ASSERT_NEAR(plan.worth, try_all_quarters(wood, catalogue, pose, first, second), 1e-4)
        << "trial " << trial;
    // A cutoff changes nothing above it and leaves nothing below.
    const auto cut_off = [&](double cutoff) {
      return plan_quarters(wood, catalogue, space, pose, first, second, cutoff);
    };
    ASSERT_EQ(cut_off(plan.worth - 0.01).worth, plan.worth) << "trial " << trial;
    ASSERT_FALSE(cut_off(plan.worth).split) << "trial " << trial;
    int sawn = 0;
    for (const QuarterPlan& quarter : plan.split->quarters) sawn += quarter.worth > 0.0 ? 1 : 0;
    all_four += sawn == 4 ? 1 : 0;
  }
  EXPECT_GT(all_four, 150);  // else the comparison would say little
}

PlanSettings quick(std::vector<Pattern> patterns) {
  PlanSettings settings;
  settings.turn_step = 15;
  settings.lifts = 3;
  settings.patterns = std::move(patterns);
  return settings;
}

TEST(Quarter, EveryBoardIsThereWhenSawnOnPaper) {
  std::mt19937 random(4);
  for (const double kerf : {4.0, 6.0, 2.5}) {
    const LogShape shape = small_log(random, 1250, 130);
    Order order;
    order.products = {product("board", 27, 90, {600, 1200}, {3.0, 7.0}),
                      product("narrow board", 27, 60, {600, 1200}, {1.5, 3.5})};
    Mill mill;
    mill.kerf = kerf;
    const SawPlan plan = plan_log(shape, order, mill, quick({Pattern::quarter}));
    EXPECT_EQ(plan.pattern, "quarter");
    const Replay result = replay(plan, shape);
    EXPECT_TRUE(result.complete) << (result.sentences.empty() ? "" : result.sentences.front());
    // Every quarter keeps at least one flat face that no later cut of the mill touches.
    EXPECT_GE(plan.boards.size(), 8U);
  }
}

TEST(Quarter, IsPaidByTheRingsAndTheGradesOfItsBoards) {
  std::mt19937 random(4);
  const LogShape shape = small_log(random, 650, 120);
  Order order;
  order.products = {product("board", 27, 80, {600}, {3.0})};
  Product& board = order.products.front();
  board.grades = Grades{};
  board.grades->clear = 1.0;
  board.grades->sound_knots = 0.8;  // pith is not sold
  board.grain = Grain{};
  board.grain->standing = 2.0;
  board.grain->lying = 0.2;
  const SawPlan plan = plan_log(shape, order, Mill{}, quick({Pattern::quarter}));
  const Replay result = replay(plan, shape);
  EXPECT_TRUE(result.complete) << (result.sentences.empty() ? "" : result.sentences.front());
  double most = 0.0;
  for (const Board& each : plan.boards) {
    EXPECT_EQ(each.grade, "clear");
    most = std::max(most, each.value / 3.0);
  }
  EXPECT_GT(most, 1.5);  // rings stand in the boards beside the flat faces
  EXPECT_GE(plan_log(shape, order, Mill{}, quick({})).totals.net, plan.totals.net - 1e-9);
}

TEST(Quarter, AllPatternsTogetherNeverGiveLessThanEach) {
  std::mt19937 random(6);
  for (int trial = 0; trial < 3; ++trial) {
    const LogShape shape = small_log(random, 1250, 90);
    Order order;
    order.products = {product("board", 27, 90, {600, 1200}, {3.0, 7.0}),
                      product("lath", 20, 50, {600, 1200}, {1.2, 2.6})};
    const double all = plan_log(shape, order, Mill{}, quick({})).totals.net;
    for (const Pattern pattern : {Pattern::live, Pattern::quarter}) {
      EXPECT_GE(all, plan_log(shape, order, Mill{}, quick({pattern})).totals.net - 1e-9);
    }
  }
}

TEST(Quarter, IsNotLeftForPlansThatOnlyHelpToSearch) {
  // Slabs are found with boards beside them by live sawing, which beats quarters and is not asked
  // for.
  std::mt19937 random(6);
  const LogShape shape = small_log(random, 1250, 90);
  Order order;
  order.products = {product("board", 27, 120, {600, 1200}, {3.0, 7.0}),
                    product("lath", 20, 50, {600, 1200}, {0.5, 1.1}),
                    product("slab", 40, 60, {1200}, {0.1})};
  order.products.back().live_edge = true;
  const double live = plan_log(shape, order, Mill{}, quick({Pattern::live})).totals.net;
  const double quarter = plan_log(shape, order, Mill{}, quick({Pattern::quarter})).totals.net;
  const SawPlan both = plan_log(shape, order, Mill{}, quick({Pattern::slabs, Pattern::quarter}));
  ASSERT_LT(quarter, 0.85 * live) << "else there is nothing to be left for";
  EXPECT_GE(both.totals.net, quarter - 1e-9) << both.pattern;
}

}  // namespace
}  // namespace kerfwright::saw
