#include <gtest/gtest.h>

#include <cmath>
#include <filesystem>
#include <numbers>

#include "invented/recipes.hpp"
#include "invented/truth.hpp"
#include "kerfwright/shape/bumps.hpp"
#include "kerfwright/shape/mark_geometry.hpp"
#include "kerfwright/shape/read_marks.hpp"
#include "kerfwright/shape/shape_of_scan.hpp"
#include "kerfwright/trade/mill.hpp"
#include "kerfwright/trade/order.hpp"

namespace kerfwright {
namespace {

const std::string kScans = std::string(KERFWRIGHT_SOURCE_DIR) + "/scans/";

TEST(Scans, AreUnderFifteenMegabytesTogether) {
  std::uintmax_t sum = 0;
  for (const auto& entry : std::filesystem::directory_iterator(kScans)) sum += entry.file_size();
  EXPECT_LT(sum, 15'000'000U);
}

TEST(Scans, EachHaveAScanAnOrderAndAMillThatHoldsTheLog) {
  for (const std::string& name : recipe_names()) {
    const InventedLog log = recipe(name);
    EXPECT_TRUE(std::filesystem::exists(kScans + name + ".ply")) << name;
    const Mill mill = read_mill(kScans + name + ".mill.toml");
    EXPECT_GT(mill.max_diameter, 2 * (log.butt_radius + log.flare)) << name;
    for (double bunk : mill.bunks) EXPECT_TRUE(bunk > 0 && bunk < log.length) << name;
  }
}

TEST(Scans, OrderOnlyWhatCouldComeOutOfTheirLog) {
  for (const std::string& name : recipe_names()) {
    const InventedLog log = recipe(name);
    for (const Product& product : read_order(kScans + name + ".order.toml").products) {
      const double diagonal = std::hypot(product.thickness, product.width);
      EXPECT_LT(diagonal, log.butt_radius + log.top_radius) << name << ", " << product.name;
      for (double length : product.lengths) EXPECT_LT(length, log.length) << product.name;
    }
  }
}

TEST(Scans, PayMoreForALitreOfALongerFruitwoodBoard) {
  for (const char* name : {"crooked-cherry", "burled-walnut", "short-plum"}) {
    for (const Product& product : read_order(kScans + name + ".order.toml").products)
      for (std::size_t i = 1; i < product.lengths.size(); ++i)
        EXPECT_GE(product.value_of(i) / product.lengths[i],
                  product.value_of(i - 1) / product.lengths[i - 1])
            << name << ", " << product.name;
  }
}

TEST(Scans, HaveSeventeenSizesForTheLarch) {
  EXPECT_EQ(read_order(kScans + "straight-larch.order.toml").products.size(), 17U);
}

TEST(Scans, ShowTheThreeStubsOfTheCherryAndNoOtherKnot) {
  const InventedLog log = recipe("crooked-cherry");
  const ShapeOfScan found = shape_of_scan(kScans + "crooked-cherry.ply", {});
  const auto bumps = find_bumps(found.shape, bark_points(found.scan, found.labels, found.shape));
  const auto knots = proposed_knots(found.shape, bumps);
  ASSERT_EQ(knots.size(), log.stubs.size());
  for (std::size_t i = 0; i < knots.size(); ++i) {
    EXPECT_NEAR(knots[i].at_bark.x(), log.stubs[i].x, 25.0);
    const Eigen::Vector2d out = (knots[i].at_bark - knots[i].at_pith).tail<2>();
    const double turn = std::atan2(out.y(), out.x()) - log.stubs[i].theta;
    EXPECT_NEAR(std::remainder(turn, 2.0 * std::numbers::pi), 0.0, 0.15);
    EXPECT_NEAR(knots[i].diameter, 2.0 * log.stubs[i].radius, 15.0);
  }
}

TEST(Scans, HaveMarksThatLieOnTheWalnut) {
  const InventedLog log = recipe("burled-walnut");
  const LogShape truth = true_shape(log, Eigen::Matrix4d::Identity());
  const Marks marks = read_marks(kScans + "burled-walnut.marks.toml", truth);
  EXPECT_TRUE(marks.pith);
  ASSERT_EQ(marks.figure.size(), 1U);
  // The zone holds the top of the first burl.
  const Burl& burl = log.burls.front();
  const Eigen::Vector3d top = log.surface(burl.x, burl.theta);
  const Eigen::Vector2d middle = log.axis(burl.x);
  const Eigen::Vector2d inside = middle + 0.9 * (top.tail<2>() - middle);
  EXPECT_TRUE(is_in_figure(truth, marks.figure[0], {burl.x, inside.x(), inside.y()}));
}

}  // namespace
}  // namespace kerfwright
