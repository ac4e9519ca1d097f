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

/// Sizes that with a kerf of 4 mm are whole steps of 4 mm; every third order has posts.
Order small_order(std::mt19937& random) {
  Order order;
  order.products = {{"lath", 20, 40, {150, 300}, {1.0, 2.6}, {}, 0.0, {}},
                    {"board", 20, 72, {150, 390}, {2.2, 7.0}, {}, 0.1, {}}};
  if (random() % 3 == 0) {
    order.products.push_back({"post", 48, 72, {390}, {16.0}, {}, 0.0, {}});
  } else if (random() % 2 == 0) {
    order.products.push_back({"joist", 20, 52, {390}, {7.5}, {}, 0.0, {}});
  }
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

struct Tried {
  double any = 0;        ///< of all stacks
  double with_cant = 0;  ///< of those that have a cant
};

/// The best stack that has at least one of the items from `first` on: each of them at each height
/// in turn, the best below it and the best above it.
double best_with_one(const StackTable& table, std::size_t first, int kerf) {
  double best = 0.0;
  for (std::size_t item = first; item < table.items.size(); ++item) {
    for (int b = 0; b < table.levels; ++b) {
      const auto worth = static_cast<double>(table.worth[item][static_cast<std::size_t>(b)]);
      if (worth <= 0.0) continue;
      StackTable beside = table;
      for (std::size_t k = 0; k < beside.items.size(); ++k) {
        for (int other = 0; other < beside.levels; ++other) {
          const bool clear =
              other >= b + table.items[item].pitch || other + beside.items[k].pitch <= b;
          if (!clear) beside.worth[k][static_cast<std::size_t>(other)] = 0.0F;
        }
      }
      best = std::max(best, worth + best_stack(beside, kerf).worth);
    }
  }
  return best;
}

/// The same pattern without bounds or laziness: every cant of every size at every height and slope.
Tried every_cant(const Wood& wood, const Catalogue& catalogue, const Pose& pose,
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
  return {best_stack(table, catalogue.kerf_strips).worth,
          best_with_one(table, catalogue.classes.size(), catalogue.kerf_strips)};
}

/// Thin boards that a log gives as many of from two cants as through and through, or more.
Order staves(std::mt19937& random) {
  Order order;
  const double width = random() % 2 == 0 ? 52 : 56;
  order.products = {{"stave", 28, width, {190, 390}, {1.4, 3.0}, {}, 0.0, {}}};
  return order;
}

/// Presses a log flat.
void make_oval(LogShape& shape, std::mt19937& random) {
  const double by = static_cast<double>(random() % 1000) / 999.0 * 14.0;
  for (auto& section : shape.radius) {
    for (std::size_t j = 0; j < section.size(); ++j) {
      const double angle = 2.0 * std::acos(-1.0) * static_cast<double>(j) / 32.0;
      section[j] += static_cast<float>(by * std::cos(2.0 * angle));
    }
  }
}

/// What the random logs came to.
struct Compared {
  int with_cant = 0, with_two = 0, with_wany = 0;
};

/// Whether a flitch of a cant is edged narrower than the cant.
bool has_wany_board(const LogPlan& plan, const Wood& wood, const Catalogue& catalogue) {
  for (const CantPlan& cant : plan.cants) {
    const CantClip clip = cant_clip(plan.pose, catalogue.grid.height(cant.bottom), cant.size);
    const Profile profile(wood, cant.pose, catalogue.grid);
    const FlitchWorths slices(wood, catalogue, profile, cant.pose.slope, clip);
    for (const Placed& placed : cant.stack.items) {
      const FlitchClass& flitch = catalogue.classes[static_cast<std::size_t>(placed.item)];
      for (const Piece& piece :
           Edger(catalogue, wood.border).layout(flitch, slices.wood_at(flitch, placed.bottom))) {
        for (const Lane& lane : flitch.lanes) {
          if (lane.product == piece.product && lane.width < cant.size - 1.0) return true;
        }
      }
    }
  }
  return false;
}

/// Plans random small logs in random poses and compares with every cant at every height.
Compared compare_with_every_cant(unsigned seed, int trials, bool with_marks) {
  std::mt19937 random(seed);
  Mill mill;
  mill.kerf = 4;
  mill.height_step = 4;
  Compared compared;
  for (int trial = 0; trial < trials; ++trial) {
    LogShape shape = small_log(random);
    const bool oval = trial % 2 == 1;
    Order order = oval ? staves(random) : small_order(random);
    if (oval) make_oval(shape, random);
    if (with_marks && order.products.size() > 1) mark(shape, order, random);
    const Wood wood = wood_of(shape, 0.0, 0.1);
    const double slope = static_cast<double>(random() % 3) * 4.0 / shape.length();
    const Pose pose{static_cast<double>(random() % 314) / 100.0, slope};
    const HeightGrid grid = grid_for(wood, mill.height_step, 8.0 / shape.length());
    const Catalogue catalogue =
        catalogue_of(order, mill, prices_of(order, mill), grid, wood.length(), wood.reach(), oval);
    EXPECT_FALSE(catalogue.cant_sizes.empty());
    const std::vector<double> slopes = {-6.0 / shape.length(), 0.0, 6.0 / shape.length()};
    PoseSearch search(wood, catalogue, pose);
    const LogPlan plan = search.best_with_cants({1, slopes, 0.0}, 0.0);
    compared.with_cant += plan.cants.empty() ? 0 : 1;
    compared.with_two += plan.cants.size() > 1 ? 1 : 0;
    compared.with_wany += has_wany_board(plan, wood, catalogue) ? 1 : 0;
    const Tried tried = every_cant(wood, catalogue, pose, slopes);
    EXPECT_NEAR(plan.worth, tried.any, 1e-4) << "trial " << trial;
    const LogPlan must = search.best_with_cants({1, slopes, 0.0, true}, 0.0);
    EXPECT_NEAR(must.worth, tried.with_cant, 1e-4) << "trial " << trial;
    EXPECT_EQ(must.cants.empty(), tried.with_cant <= 0.0);
  }
  return compared;
}

TEST(Cant, BoundsAndLazinessLoseNothingWhereMarksSayWhatAPieceIsWorth) {
  EXPECT_GT(compare_with_every_cant(6, 60, true).with_cant, 10);
}

TEST(Cant, BoundsAndLazinessLoseNothingAgainstEveryCantAtEveryHeight) {
  const Compared compared = compare_with_every_cant(5, 300, false);
  EXPECT_GT(compared.with_cant, 40);  // else the comparison would say little
  EXPECT_GT(compared.with_two, 3);
  EXPECT_GT(compared.with_wany, 20);
}

}  // namespace
}  // namespace kerfwright::saw
