#include <gtest/gtest.h>

#include <cmath>
#include <filesystem>

#include "invented/recipes.hpp"
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

}  // namespace
}  // namespace kerfwright
