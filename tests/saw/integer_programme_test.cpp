#include <coin/Cbc_C_Interface.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <memory>
#include <numbers>
#include <random>

#include "pose_search.hpp"
#include "search.hpp"

// The planner's answer in one pose against an integer programme that an outside solver (CBC)
// solves. Whether a lane is clear is asked of corners and polygons here, not of the planner's
// tables; what a run of clear wood is worth comes from plain recursion; which lanes and flitches
// are sawn is left to the solver.

namespace kerfwright::saw {
namespace {

constexpr double height_step = 10.0;  // mm
constexpr double square_loss = 0.02;  // mm of every run that the planner gives away for rounding

struct Case {
  LogShape shape;
  Order order;
  Mill mill;
};

double between(std::mt19937& random, double low, double high) {
  return low + (high - low) * static_cast<double>(random()) / 4294967295.0;
}

/// A small bowed log with oval sections, convex so that four corners tell whether a box is inside.
LogShape small_log(std::mt19937& random) {
  LogShape shape;
  shape.angles = 24;
  const double radius = between(random, 45.0, 60.0);
  const double oval = between(random, 0.0, 0.12);
  const double long_way = between(random, 0.0, std::numbers::pi);
  const double sweep = between(random, 0.0, 18.0);
  const double bow_way = between(random, 0.0, 2.0 * std::numbers::pi);
  const int gaps = 4 + static_cast<int>(random() % 3);
  for (int i = 0; i <= gaps; ++i) {
    const double share = static_cast<double>(i) / gaps;
    const double bow = 4.0 * sweep * share * (1.0 - share);
    shape.stations.push_back(120.0 * i);
    shape.axis.emplace_back(bow * std::cos(bow_way), bow * std::sin(bow_way));
    shape.radius.emplace_back();
    for (int j = 0; j < shape.angles; ++j) {
      const double angle = 2.0 * std::numbers::pi * j / shape.angles;
      const double r =
          radius * (1.0 - 0.15 * share) * (1.0 + oval * std::cos(2 * angle - long_way));
      shape.radius.back().push_back(static_cast<float>(r));
    }
    shape.sigma.emplace_back(24, 0.0F);
    shape.seen.emplace_back(24, static_cast<unsigned char>(1));
  }
  return shape;
}

Product product(std::mt19937& random, const char* name, double thickness, double width) {
  Product made;
  made.name = name;
  made.thickness = thickness;
  made.width = width;
  made.lengths = {110.0, 230.0, 350.0};
  for (const double length : made.lengths) {
    const double fair = thickness * width * length * 1e-4;
    made.values.push_back(std::round(fair * between(random, 0.7, 1.3)));
  }
  return made;
}

Case random_case(std::mt19937& random) {
  Case made;
  made.shape = small_log(random);
  made.order.products = {product(random, "lath", 20, 30 + static_cast<int>(random() % 10)),
                         product(random, "slat", 20, 45 + static_cast<int>(random() % 10)),
                         product(random, "billet", 30, 35 + static_cast<int>(random() % 10))};
  if (random() % 2 == 0) made.order.products.back().wane = 0.35;
  made.mill.kerf = 10.0;
  return made;
}

struct Corner {
  double across = 0, height = 0;
};

/// The sections as they lie in a pose, corners counter-clockwise.
std::vector<std::vector<Corner>> turned(const Wood& wood, const Pose& pose) {
  std::vector<std::vector<Corner>> sections;
  const auto angles = static_cast<std::size_t>(wood.angles);
  const double level = std::cos(std::asin(pose.slope));
  for (std::size_t i = 0; i < wood.station_x.size(); ++i) {
    sections.emplace_back();
    for (std::size_t j = 0; j < angles; ++j) {
      const auto y = static_cast<double>(wood.y[i * angles + j]);
      const auto z = static_cast<double>(wood.z[i * angles + j]);
      const double up = y * std::sin(pose.roll) + z * std::cos(pose.roll);
      sections.back().push_back({y * std::cos(pose.roll) - z * std::sin(pose.roll),
                                 up * level + wood.station_x[i] * pose.slope});
    }
  }
  return sections;
}

bool inside(const std::vector<Corner>& section, double across, double height) {
  for (std::size_t j = 0; j < section.size(); ++j) {
    const Corner& a = section[j];
    const Corner& b = section[(j + 1) % section.size()];
    const double left_of =
        (b.across - a.across) * (height - a.height) - (b.height - a.height) * (across - a.across);
    if (left_of < 0.0) return false;
  }
  return true;
}

bool holds_box(const std::vector<Corner>& section, double left, double bottom, double width,
               double height) {
  return inside(section, left, bottom) && inside(section, left + width, bottom) &&
         inside(section, left, bottom + height) && inside(section, left + width, bottom + height);
}

double best_pieces(const Product& wished, double kerf, double run) {
  double best = 0.0;
  for (std::size_t i = 0; i < wished.lengths.size(); ++i) {
    if (wished.lengths[i] > run) continue;
    best = std::max(best,
                    wished.value_of(i) + best_pieces(wished, kerf, run - wished.lengths[i] - kerf));
  }
  return best;
}

/// What a lane whose lower left arris lies at (left, bottom) is worth.
double lane_worth(const std::vector<std::vector<Corner>>& sections, const Wood& wood,
                  const Pose& pose, const Product& wished, double kerf, double left,
                  double bottom) {
  // With wane the full width is needed only away from the faces, by whole strips of height, and the
  // full thickness only away from the edges, by whole tenths of a millimetre.
  const double off_faces =
      height_step * std::floor(wished.wane.thickness * wished.thickness / height_step);
  const double off_edges = 0.1 * std::floor(10.0 * wished.wane.width * wished.width);
  std::vector<bool> clear;
  for (const auto& section : sections) {
    clear.push_back(holds_box(section, left, bottom + off_faces, wished.width,
                              wished.thickness - 2.0 * off_faces) &&
                    holds_box(section, left + off_edges, bottom, wished.width - 2.0 * off_edges,
                              wished.thickness));
  }
  const double loss = wished.thickness * std::abs(pose.slope) + square_loss;
  double worth = 0.0;
  for (std::size_t i = 0; i < clear.size(); ++i) {
    if (!clear[i] || (i > 0 && clear[i - 1])) continue;
    std::size_t end = i;
    while (end + 1 < clear.size() && clear[end + 1]) ++end;
    worth += best_pieces(wished, kerf, wood.station_x[end] - wood.station_x[i] - loss);
  }
  return worth;
}

/// One binary for each flitch (thickness, bottom) and for each lane in it. Flitches with their kerf
/// share no height, lanes with their kerf share no width of their flitch.
class Programme {
 public:
  Programme() : model_(Cbc_newModel(), Cbc_deleteModel) {
    Cbc_setParameter(model_.get(), "logLevel", "0");
    Cbc_setObjSense(model_.get(), -1.0);
  }

  int choice(double worth) {
    Cbc_addCol(model_.get(), "x", 0.0, 1.0, worth, 1, 0, nullptr, nullptr);
    return columns_++;
  }

  /// The sum of `some` is at most 1, or at most the choice `limit` where that is not negative.
  void at_most_one(std::vector<int> some, int limit = -1) {
    std::vector<double> factors(some.size(), 1.0);
    if (limit >= 0) {
      some.push_back(limit);
      factors.push_back(-1.0);
    }
    Cbc_addRow(model_.get(), "r", static_cast<int>(some.size()), some.data(), factors.data(), 'L',
               limit >= 0 ? 0.0 : 1.0);
  }

  double solve() {
    if (columns_ == 0) return 0.0;
    Cbc_solve(model_.get());
    EXPECT_TRUE(Cbc_isProvenOptimal(model_.get()));
    return Cbc_getObjValue(model_.get());
  }

 private:
  std::unique_ptr<Cbc_Model, void (*)(Cbc_Model*)> model_;
  int columns_ = 0;
};

struct Placing {
  int choice = 0;
  int from = 0, to = 0;  ///< half open, what it takes up with its kerf
};

/// Cliques of intervals: all that hold the place where one of them starts.
void forbid_overlaps(Programme& programme, const std::vector<Placing>& placings, int limit) {
  int last = -1000000;
  for (const Placing& start : placings) {  // in the order of their starts
    if (start.from == last) continue;
    last = start.from;
    std::vector<int> together;
    for (const Placing& other : placings) {
      if (other.from <= start.from && start.from < other.to) together.push_back(other.choice);
    }
    programme.at_most_one(together, limit);
  }
}

double by_programme(const Case& log, const Wood& wood, const HeightGrid& grid, const Pose& pose) {
  const auto sections = turned(wood, pose);
  const int reach = static_cast<int>(std::ceil(wood.reach()));
  const int kerf = static_cast<int>(log.mill.kerf);
  Programme programme;
  std::vector<Placing> flitches;
  for (int level = 0; level < grid.levels; ++level) {
    for (const int thickness : {20, 30}) {
      std::vector<Placing> lanes;
      for (int left = -reach; left <= reach; ++left) {
        for (const Product& wished : log.order.products) {
          if (wished.thickness != thickness) continue;
          const double worth =
              lane_worth(sections, wood, pose, wished, log.mill.kerf, left, grid.height(level));
          if (worth <= 0.0) continue;
          lanes.push_back(
              {programme.choice(worth), left, left + static_cast<int>(wished.width) + kerf});
        }
      }
      if (lanes.empty()) continue;
      const int bottom = level * static_cast<int>(height_step);
      flitches.push_back({programme.choice(0.0), bottom, bottom + thickness + kerf});
      forbid_overlaps(programme, lanes, flitches.back().choice);
    }
  }
  forbid_overlaps(programme, flitches, -1);
  return programme.solve();
}

TEST(IntegerProgramme, FindsNoBetterStackOfFlitchesInOnePoseAndNoWorse) {
  std::mt19937 random(41);
  int stacks = 0;
  for (int trial = 0; trial < 24; ++trial) {
    const Case log = random_case(random);
    const Wood wood = wood_of(log.shape, 0.0, 0.0);
    const Pose pose{between(random, 0.0, std::numbers::pi), between(random, -0.02, 0.02)};
    const HeightGrid grid = grid_for(wood, height_step, 0.02);
    const Catalogue catalogue = catalogue_of(log.order, log.mill, prices_of(log.order, log.mill),
                                             grid, wood.length(), wood.reach());
    const LogPlan plan = PoseSearch(wood, catalogue, pose).best_live(0.0);
    EXPECT_NEAR(plan.worth, by_programme(log, wood, grid, pose), 1e-4) << "trial " << trial;
    if (plan.stack.items.size() > 1) ++stacks;
  }
  EXPECT_GE(stacks, 20) << "the logs are too small to tell anything";
}

TEST(IntegerProgramme, InEveryPoseInTurnFindsNoBetterPlanThanTheSearchAndNoWorse) {
  std::mt19937 random(43);
  for (int trial = 0; trial < 6; ++trial) {
    const Case log = random_case(random);
    const Wood wood = wood_of(log.shape, 0.0, 0.0);
    SearchSpace space;
    space.turns = 4;
    space.slopes = {-0.02, 0.0, 0.02};
    const HeightGrid grid = grid_for(wood, height_step, 0.02);
    const Catalogue catalogue = catalogue_of(log.order, log.mill, prices_of(log.order, log.mill),
                                             grid, wood.length(), wood.reach());
    double most = 0.0;
    double most_by_programme = 0.0;
    for (int turn = 0; turn < space.turns; ++turn) {
      for (const double slope : space.slopes) {
        const Pose pose{turn * std::numbers::pi / space.turns, slope};
        most = std::max(most, PoseSearch(wood, catalogue, pose).best_live(0.0).worth);
        if (trial == 0) {
          most_by_programme = std::max(most_by_programme, by_programme(log, wood, grid, pose));
        }
      }
    }
    const std::vector<LogPlan> found = search_live(wood, catalogue, space);
    ASSERT_FALSE(found.empty());
    EXPECT_NEAR(found.front().worth, most, 1e-4) << "trial " << trial;
    if (trial > 0) continue;  // the programmes take most of the time
    EXPECT_NEAR(found.front().worth, most_by_programme, 1e-4) << "trial " << trial;
  }
}

}  // namespace
}  // namespace kerfwright::saw
