#include "cross_cut.hpp"

#include <gtest/gtest.h>

#include <atomic>
#include <cmath>
#include <map>
#include <numbers>
#include <random>
#include <set>

#include "kerfwright/saw/opening.hpp"
#include "kerfwright/saw/plan_log.hpp"
#include "kerfwright/saw/replay.hpp"
#include "kerfwright/shape/section.hpp"
#include "kerfwright/sheet/plan_file.hpp"
#include "part.hpp"

namespace kerfwright::saw {
namespace {

/// Two straight limbs that meet at `knee` mm with an angle between them.
LogShape kneed_log(double length, double radius, double knee, double degrees, double bark = 0.0) {
  LogShape shape;
  shape.angles = 64;
  shape.bark = bark;
  const double rise = std::tan(degrees * std::numbers::pi / 360.0);
  const auto bow = [&](double x) { return rise * (x < knee ? x : 2.0 * knee - x); };
  for (double x = 0; x <= length; x += 50) {
    const double level = bow(length) * x / length;
    shape.stations.push_back(x);
    shape.axis.emplace_back(bow(x) - level, 0.0);
    shape.radius.emplace_back(64, static_cast<float>(radius + bark));
    shape.sigma.emplace_back(64, 0.0F);
    shape.seen.emplace_back(64, static_cast<unsigned char>(1));
  }
  return shape;
}

Order boards() {
  Order order;
  for (const double width : {80.0, 120.0, 160.0}) {
    Product product;
    product.name = "board " + std::to_string(std::lround(width));
    product.thickness = 27;
    product.width = width;
    product.lengths = {600, 1200, 2400};
    product.price_per_m3 = 600;
    order.products.push_back(product);
  }
  return order;
}

PlanSettings quick(std::vector<Pattern> patterns = {}) {
  PlanSettings settings;
  settings.turn_step = 15;
  settings.lifts = 3;
  settings.patterns = std::move(patterns);
  return settings;
}

/// Every set of cuts there is, one after another.
Partition by_trying_all(const std::vector<std::vector<double>>& worth,
                        const std::vector<double>& cost, int parts) {
  const int last = static_cast<int>(worth.size()) - 1;
  Partition best{-1e300, {}};
  const auto value = [&](const std::vector<int>& ends) {
    double sum = 0.0;
    for (std::size_t i = 0; i + 1 < ends.size(); ++i) {
      sum += worth[static_cast<std::size_t>(ends[i])][static_cast<std::size_t>(ends[i + 1])];
      if (i > 0) sum -= cost[static_cast<std::size_t>(ends[i])];
    }
    return sum;
  };
  if (parts == 2) {
    for (int a = 1; a < last; ++a) {
      const double sum = value({0, a, last});
      if (sum > best.worth) best = {sum, {a}};
    }
  } else {
    for (int a = 1; a < last; ++a) {
      for (int b = a + 1; b < last; ++b) {
        const double sum = value({0, a, b, last});
        if (sum > best.worth) best = {sum, {a, b}};
      }
    }
  }
  return best;
}

TEST(CrossCut, PlacesAreThoseOfTryingAllOnTwoHundredSmallInstances) {
  std::mt19937 random(3);
  for (int trial = 0; trial < 220; ++trial) {
    const std::size_t places = 4 + random() % 8;
    std::vector<std::vector<double>> worth(places, std::vector<double>(places, 0.0));
    std::vector<double> cost;
    for (std::size_t i = 0; i < places; ++i) {
      cost.push_back(random() % 20);
      for (std::size_t j = i + 1; j < places; ++j) {
        // The longer the dearer, but for a few that are worth nothing.
        if (random() % 5 != 0) worth[i][j] = (random() % 100) * static_cast<double>(j - i);
      }
    }
    for (const int parts : {2, 3}) {
      const Partition all = by_trying_all(worth, cost, parts);
      const Partition found = best_partition(worth, cost, parts);
      ASSERT_DOUBLE_EQ(found.worth, all.worth) << "trial " << trial;
      ASSERT_EQ(found.cuts.size(), all.cuts.size());
    }
  }
}

TEST(CrossCut, APartIsTheSameWoodInItsOwnFrame) {
  std::mt19937 random(8);
  for (int trial = 0; trial < 20; ++trial) {
    const double knee = 800.0 + static_cast<double>(random() % 17) * 50.0;
    const LogShape log = kneed_log(2450, 90, knee, 1.0 + random() % 15, trial % 2 == 0 ? 0.0 : 6.0);
    const double a = static_cast<double>(random() % 800);
    const double b = a + 500.0 + static_cast<double>(random() % 1000);
    const Part part = part_of(log, part_end(log, a, 6.0), part_end(log, b, 6.0), 12.5, 64);
    ASSERT_GT(part.shape.length(), 400.0);
    EXPECT_LE(part.shape.length(), (part.top - part.butt).norm());
    double most = 0.0;
    for (int point = 0; point < 500; ++point) {
      const double x = part.shape.length() * (random() % 1000) / 999.0;
      const double angle = (random() % 1000) * 0.00628;
      const double radius = random() % 110;
      const Eigen::Vector3d here(x, radius * std::cos(angle), radius * std::sin(angle));
      const double depth = depth_inside(part.shape, here, Bark::off);
      if (std::abs(depth) > 5.0) {
        // What is well inside is inside, what is well outside outside.
        EXPECT_EQ(depth > 0.0, depth_inside(log, part.to_log * here, Bark::off) > 0.0);
      }
      // And the surfaces lie within tenths of a millimetre.
      const double there = depth_inside(log, part.to_log * here, Bark::off);
      if (std::abs(depth) < 2.0) most = std::max(most, std::abs(depth - there));
    }
    EXPECT_LT(most, 0.8);  // at the knee itself the log has an edge that a part rounds off
  }
}

TEST(CrossCut, PaysOnAKneedLogAndTheCutLiesAtTheKnee) {
  const LogShape log = kneed_log(2600, 95, 1300, 14);
  const SawPlan whole = plan_log(log, boards(), Mill{}, quick({Pattern::live, Pattern::cant}));
  const SawPlan parts = plan_log(log, boards(), Mill{}, quick());
  EXPECT_GT(parts.totals.value, 1.2 * whole.totals.value);
  EXPECT_TRUE(replay(parts, log).complete);
  ASSERT_EQ(parts.pattern.rfind("cross-cut", 0), 0U) << parts.pattern;
  const Cut& first = parts.cuts.front();
  EXPECT_EQ(first.piece, "log");
  EXPECT_NEAR(first.point.x(), 1300, 120);
  EXPECT_EQ(openings_of(parts, log).size(), 2U);
}

TEST(CrossCut, IsNotMadeWhereTheFullLengthIsWorthMore) {
  Order order = boards();
  for (Product& product : order.products) product.lengths = {2400};
  const LogShape log = kneed_log(2600, 110, 1300, 1);
  const SawPlan plan = plan_log(log, order, Mill{}, quick());
  EXPECT_EQ(plan.pattern.find("cross-cut"), std::string::npos);
}

TEST(CrossCut, IsStillLookedAtWhereThroughAndThroughTakesMostOfTheTime) {
  const LogShape log = kneed_log(2600, 95, 1300, 14);
  PlanSettings settings = quick({Pattern::live});
  const double uncut = plan_log(log, boards(), Mill{}, settings).totals.net;
  settings.patterns.push_back(Pattern::cross_cut);
  const double parts = plan_log(log, boards(), Mill{}, settings).totals.net;
  ASSERT_GT(parts, 1.1 * uncut);  // else nothing is shown
  std::atomic<double> gone = 0.0;
  std::atomic<bool> hurried = false;
  settings.watch.progress = [&](const std::string&, double) { gone = 0.9; };
  settings.watch.gone = [&] { return gone.load(); };
  settings.watch.stop = [&] { return gone >= 1.0; };
  settings.watch.hurried = [&] { hurried = true; };
  EXPECT_DOUBLE_EQ(plan_log(log, boards(), Mill{}, settings).totals.net, parts);
  EXPECT_TRUE(hurried);
}

TEST(CrossCut, KeepsToWhatIsWantedOverAllParts) {
  Order order = boards();
  for (Product& product : order.products) product.wanted = 2;
  const LogShape log = kneed_log(2600, 95, 1300, 14);
  const SawPlan plan = plan_log(log, order, Mill{}, quick({Pattern::live, Pattern::cross_cut}));
  EXPECT_TRUE(replay(plan, log).complete);  // which counts
}

TEST(CrossCut, PlanIsTheSameOnOneThreadAndOnTwo) {
  const LogShape log = kneed_log(2000, 80, 900, 12);
  PlanSettings one = quick({Pattern::live, Pattern::cross_cut});
  PlanSettings two = one;
  one.threads = 1;
  two.threads = 2;
  EXPECT_EQ(plan_to_json(plan_log(log, boards(), Mill{}, one)),
            plan_to_json(plan_log(log, boards(), Mill{}, two)));
}

/// So the number of the last cut says how far a log is of which all is sawn before any is edged.
TEST(CrossCut, AllIsSawnOnTheMillBeforeAnyWorkByHand) {
  const SawPlan plan = plan_log(kneed_log(2000, 80, 900, 12), boards(), Mill{}, quick());
  std::map<int, SetupKind> kinds;
  int last = 0;
  for (const auto& setup : plan.setups) {
    EXPECT_EQ(setup.n, ++last);
    kinds[setup.n] = setup.kind;
  }
  ASSERT_EQ(kinds[1], SetupKind::cross_cut);
  std::set<std::string> sawn;
  bool by_hand = false;
  for (std::size_t i = 0; i < plan.cuts.size(); ++i) {
    const Cut& cut = plan.cuts[i];
    EXPECT_EQ(cut.n, static_cast<int>(i) + 1);
    if (on_mill(kinds[cut.setup])) {
      EXPECT_FALSE(by_hand) << "cut " << cut.n;
      sawn.insert(cut.piece.substr(0, 2));
    } else if (!sawn.empty()) {
      by_hand = true;
    }
  }
  EXPECT_TRUE(by_hand && sawn.contains("p1") && sawn.contains("p2"));
}

TEST(CrossCut, EveryPieceOfEachPartComesFromItsPart) {
  const LogShape log = kneed_log(2600, 95, 1300, 14, 5.0);
  const SawPlan plan = plan_log(log, boards(), Mill{}, quick());
  const SawPlan again = plan_from_json(plan_to_json([&] {
                                         SawPlan copy = plan;
                                         copy.shape_sha256 = std::string(64, 'a');
                                         return copy;
                                       }()),
                                       "plan");
  ASSERT_EQ(again.setups.size(), plan.setups.size());
  for (std::size_t i = 0; i < plan.setups.size(); ++i) {
    ASSERT_EQ(again.setups[i].part.has_value(), plan.setups[i].part.has_value());
    if (!plan.setups[i].part) continue;
    EXPECT_EQ(again.setups[i].part->piece, plan.setups[i].part->piece);
    EXPECT_NEAR((again.setups[i].part->top - plan.setups[i].part->top).norm(), 0.0, 1e-3);
  }
  EXPECT_TRUE(replay(again, log).complete);
}

}  // namespace
}  // namespace kerfwright::saw
