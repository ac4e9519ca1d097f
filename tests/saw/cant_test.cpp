#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <random>

#include "pose_search.hpp"

namespace kerfwright::saw {
namespace {

LogShape small_log(std::mt19937& random) {
  const auto draw = [&](double low, double high) {
    return low + (high - low) * static_cast<double>(random() % 1000) / 999.0;
  };
  LogShape shape;
  shape.angles = 32;
  const double radius = draw(55, 80);
  const double sweep = draw(0, 20);
  const double taper = draw(0, 12);
  for (double x = 0; x <= 400; x += 50) {
    const double share = x / 400;
    shape.stations.push_back(x);
    shape.axis.emplace_back(4 * sweep * share * (1 - share), 0.0);
    shape.radius.emplace_back(32, static_cast<float>(radius - taper * share));
    shape.sigma.emplace_back(32, 0.0F);
    shape.seen.emplace_back(32, static_cast<unsigned char>(1));
  }
  return shape;
}

/// Rot, knots and a product that is paid by grade and rings.
void mark(LogShape& shape, Order& order, std::mt19937& random) {
  const auto draw = [&](double most) {
    return most * static_cast<double>(random() % 1000) / 999.0;
  };
  shape.marks.rot.push_back({draw(25), draw(25)});
  for (int i = 0; i < 3; ++i) {
    const double x = 50 + draw(300);
    const double angle = draw(6.28);
    shape.marks.knots.push_back({{x + draw(20), 80 * std::cos(angle), 80 * std::sin(angle)},
                                 {x, 0, 0},
                                 10 + draw(40),
                                 random() % 3 != 0});
  }
  order.products[0].grades = Grades{1.0, 0.7, 0.5, 0.6};
  order.products[1].grain = Grain{1.3, 1.1, 0.9, 30, 60};
  order.products[1].grades = Grades{1.0, 0.8, std::nullopt, 1.0};
}

Order small_order() {
  Order order;
  order.products = {{"lath", 20, 40, {150, 300}, {1.0, 2.6}, {}, 0.0, {}},
                    {"board", 20, 70, {150, 390}, {2.2, 7.0}, {}, 0.1, {}},
                    {"post", 50, 70, {390}, {16.0}, {}, 0.0, {}}};
  return order;
}

/// Every entry of the flitches known, none bounded.
void fill_exactly(FlitchWorths& flitches, Edger& edger, StackTable& table) {
  flitches.fill(table);
  for (std::size_t k = 0; k < table.items.size(); ++k) {
    for (std::size_t b = 0; b < table.worth[k].size(); ++b) {
      while (table.worth[k][b] > 0.0F && table.known[k][b] != Known::exact) {
        flitches.refine(table, edger, static_cast<int>(k), static_cast<int>(b));
      }
    }
  }
}

std::vector<float> free_cuts(const Catalogue& catalogue) {
  return std::vector<float>(static_cast<std::size_t>(catalogue.grid.levels) + 200, 0.0F);
}

/// The same pattern without bounds or laziness: every cant of every size at every height and slope.
double every_cant(const Wood& wood, const Catalogue& catalogue, const Pose& pose,
                  const std::vector<double>& slopes) {
  Edger edger(catalogue, wood.border);
  const Profile profile(wood, pose, catalogue.grid);
  FlitchWorths flitches(wood, catalogue, profile, pose.slope, std::nullopt);
  StackTable table;
  table.cut_cost = free_cuts(catalogue);
  fill_exactly(flitches, edger, table);
  const double step = catalogue.grid.step;
  for (const double size : catalogue.cant_sizes) {
    const int strips = static_cast<int>(std::lround(size / step));
    table.items.push_back({strips, strips + catalogue.kerf_strips});
    table.worth.emplace_back(static_cast<std::size_t>(table.levels), 0.0F);
    table.known.emplace_back(static_cast<std::size_t>(table.levels), Known::exact);
  }
  for (const double slope : slopes) {
    const double quarter = std::asin(std::tan(std::asin(pose.slope)) * std::tan(std::asin(slope)));
    const Pose second{pose.roll + std::acos(0.0) + quarter, slope};
    const Profile turned(wood, second, catalogue.grid);
    for (std::size_t w = 0; w < catalogue.cant_sizes.size(); ++w) {
      const std::size_t item = catalogue.classes.size() + w;
      for (int b = 0; b + table.items[item].strips < table.levels; ++b) {
        const CantClip clip = cant_clip(pose, catalogue.grid.height(b), catalogue.cant_sizes[w]);
        FlitchWorths slices(wood, catalogue, turned, slope, clip);
        StackTable cant;
        cant.cut_cost = free_cuts(catalogue);
        fill_exactly(slices, edger, cant);
        float& worth = table.worth[item][static_cast<std::size_t>(b)];
        worth = std::max(worth, static_cast<float>(best_stack(cant, catalogue.kerf_strips).worth));
      }
    }
  }
  return best_stack(table, catalogue.kerf_strips).worth;
}

/// Plans random small logs in random poses and compares with every cant at every height.
int compare_with_every_cant(unsigned seed, bool with_marks) {
  std::mt19937 random(seed);
  Mill mill;
  mill.kerf = 4;
  mill.height_step = 2;
  int with_cants = 0;
  for (int trial = 0; trial < 24; ++trial) {
    LogShape shape = small_log(random);
    Order order = small_order();
    if (with_marks) mark(shape, order, random);
    const Wood wood = wood_of(shape, 0.0, 0.1);
    const double slope = static_cast<double>(random() % 3) * 4.0 / shape.length();
    const Pose pose{static_cast<double>(random() % 314) / 100.0, slope};
    const HeightGrid grid = grid_for(wood, mill.height_step, 8.0 / shape.length());
    const Catalogue catalogue =
        catalogue_of(order, mill, prices_of(order, mill), grid, wood.length(), wood.reach());
    EXPECT_FALSE(catalogue.cant_sizes.empty());
    const std::vector<double> slopes = {-6.0 / shape.length(), 0.0, 6.0 / shape.length()};
    PoseSearch search(wood, catalogue, pose);
    const LogPlan plan = search.best_with_cants({1, slopes, 0.0}, 0.0);
    with_cants += plan.cants.empty() ? 0 : 1;
    EXPECT_NEAR(plan.worth, every_cant(wood, catalogue, pose, slopes), 1e-4) << "trial " << trial;
  }
  return with_cants;
}

TEST(Cant, BoundsAndLazinessLoseNothingWhereMarksSayWhatAPieceIsWorth) {
  EXPECT_GT(compare_with_every_cant(6, true), 2);
}

TEST(Cant, BoundsAndLazinessLoseNothingAgainstEveryCantAtEveryHeight) {
  EXPECT_GT(compare_with_every_cant(5, false), 5);  // else the comparison would say little
}

}  // namespace
}  // namespace kerfwright::saw
