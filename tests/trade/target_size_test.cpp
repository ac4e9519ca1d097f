#include "kerfwright/trade/target_size.hpp"

#include <gtest/gtest.h>

#include <cmath>

#include "fault.hpp"
#include "kerfwright/trade/species.hpp"

namespace kerfwright {
namespace {

TEST(TargetSize, TheQuantilesAreThoseOfThePublishedTable) {
  // T. D. Brown, Oregon State University Extension EM 8731 (2000): Z by the share of undersize
  // pieces, printed to two decimals and rounded a little up.
  const std::vector<std::pair<double, double>> printed = {
      {0.0, 3.09},  {0.01, 2.34}, {0.02, 2.05}, {0.025, 1.97}, {0.03, 1.88},
      {0.04, 1.75}, {0.05, 1.65}, {0.10, 1.28}, {0.15, 1.04}};
  for (const auto& [share, z] : printed) EXPECT_NEAR(undersize_quantile(share), z, 0.015) << share;
  EXPECT_NEAR(undersize_quantile(0.5), 0.0, 1e-9);
}

TEST(TargetSize, TheCriticalSizeIsThatOfThePublishedExample) {
  // EM 8731: Douglas-fir 2-inch, surfaced green, final 1.560 in, planing 0.030 + 0.030 in.
  EXPECT_NEAR(critical_size(1.560, 0.060, 0.0), 1.620, 1e-12);
}

TEST(TargetSize, TheTargetIsThatOfThePublishedExample) {
  // EM 8731 ends its example with Z = 2 and a deviation of 0.030 in: 1.680 in.
  const double share_of_two = 0.02275;  // the normal share above 2 deviations
  EXPECT_NEAR(target_size(1.560, 0.060, 0.0, 0.030, share_of_two), 1.680, 0.0005);
}

TEST(TargetSize, WorkedRowsOfTheFormulaComeOut) {
  // Worked by hand from the formula and the bulletin's Z of 1.65 at 5 %.
  EXPECT_NEAR(target_size(1.560, 0.060, 0.0, 0.020, 0.05), 1.653, 0.0005);
  EXPECT_NEAR(target_size(1.560, 0.060, 0.0, 0.050, 0.05), 1.7025, 0.0005);
  EXPECT_NEAR(target_size(1.500, 0.060, 5.0, 0.020, 0.05), 1.6751, 0.0005);
  EXPECT_NEAR(target_size(1.500, 0.0625, 4.0, 0.030, 0.05), 1.6771, 0.0005);
}

Order one_product(const Finished& finished, const std::string& species) {
  Order order;
  order.species = species;
  Product product;
  product.name = "shelf";
  product.lengths = {900};
  product.values = {9};
  product.finished = finished;
  order.products = {product};
  return order;
}

Mill exact_mill() {
  Mill mill;
  mill.sawing_variation = 0.0;
  mill.height_step = 0.01;
  return mill;
}

TEST(GreenOrder, ADryBeechBoardIsSawnAsMuchThickerAsItShrinksAlongTheRings) {
  // 25.0 mm at 12 %: tangential 11.9 x 18/30 = 7.14 %, so 26.92 mm (shrinkage of American beech:
  // FPL-GTR-190, Table 4-3).
  const Order order = green_order(
      one_product({25, 100, 12, 0, 0.05, ShrinkageBy::worst}, "beech, American"), exact_mill());
  EXPECT_NEAR(order.products[0].thickness, 26.92, 0.011);
  EXPECT_NEAR(order.products[0].width, 107.69, 0.011);
}

TEST(GreenOrder, TheMeanOfRadialAndTangentialAsksForLess) {
  const Finished worst{25, 100, 8, 2, 0.05, ShrinkageBy::worst};
  Finished mean = worst;
  mean.shrinkage = ShrinkageBy::mean;
  const Order by_worst = green_order(one_product(worst, "oak, white"), exact_mill());
  const Order by_mean = green_order(one_product(mean, "oak, white"), exact_mill());
  // White oak at 8 %: tangential 7.70 %, radial 4.11 % (FPL-GTR-190, Table 4-3), mean 5.90 %.
  EXPECT_NEAR(by_worst.products[0].thickness, 27.0 / (1 - 0.0770), 0.011);
  EXPECT_NEAR(by_mean.products[0].thickness, 27.0 / (1 - 0.0590), 0.011);
}

TEST(GreenOrder, SizesAreRoundedUpToWhatTheScaleOfTheMillCanBeSetTo) {
  Mill mill;
  mill.height_step = 1.0;
  mill.sawing_variation = 1.0;
  const Order order =
      green_order(one_product({25, 100, 12, 2, 0.05, ShrinkageBy::worst}, "cherry"), mill);
  for (const double size : {order.products[0].thickness, order.products[0].width}) {
    EXPECT_EQ(size, std::round(size));
  }
  const double shrinkage = shrinkage_at(find_species("cherry").tangential.value, 12);
  const double exact = target_size(25, 2, shrinkage, 1.0, 0.05);
  EXPECT_EQ(order.products[0].thickness, std::ceil(exact));
}

TEST(GreenOrder, GreenSizesNeedNoSpeciesAndDryOnesDo) {
  EXPECT_NEAR(
      green_order(one_product({25, 100, 30, 1, 0.05, {}}, ""), exact_mill()).products[0].thickness,
      26.0, 1e-9);
  const auto error = error_of([] {
    green_order(one_product({25, 100, 12, 1, 0.05, {}}, ""), exact_mill());
  });
  EXPECT_EQ(error.fault(), Fault::bad_order);
  EXPECT_NE(std::string(error.what()).find("'shelf'"), std::string::npos);
}

TEST(GreenOrder, SizesAsSawnStayAsTheyAre) {
  Order order = one_product({25, 100, 12, 1, 0.05, {}}, "cherry");
  order.products[0].finished.reset();
  order.products[0].thickness = 27.3;
  order.products[0].width = 101.7;
  const Order green = green_order(order, exact_mill());
  EXPECT_EQ(green.products[0].thickness, 27.3);
  EXPECT_EQ(green.products[0].width, 101.7);
}

Order one_as_sawn(double thickness, double width) {
  Order order = one_product({25, 100, 12, 1, 0.05, {}}, "cherry");
  Product& product = order.products[0];
  product.finished.reset();
  product.thickness = thickness;
  product.width = width;
  product.values.clear();
  product.price_per_m3 = 1000;
  return order;
}

constexpr double sixteenth = 25.4 / 16;

/// Boards that lie one on the other are set by heights that are a thickness and a kerf apart.
TEST(GreenOrder, InInchesAThicknessAndAKerfAreWholeStepsOfTheScale) {
  Mill mill = in_inches(Mill{});
  mill.kerf = 2.5;
  const double asked = one_as_sawn(27, 120).products[0].value_of(0);
  const Order green = green_order(one_as_sawn(27, 120), mill);
  EXPECT_NEAR(green.products[0].thickness, 19 * sixteenth - 2.5, 1e-9);  // 29.5 mm is 18.6
  EXPECT_DOUBLE_EQ(green.products[0].value_of(0), asked);  // the buyer pays what was asked for
  EXPECT_EQ(green_order(green, mill).products[0].thickness, green.products[0].thickness);
  mill.kerf = 6.4;  // 0.05 mm more than 1/4 in
  EXPECT_NEAR(green_order(one_as_sawn(25.4, 127), mill).products[0].thickness, 25.4, 0.05);
  Mill metric;
  metric.kerf = 2.5;
  EXPECT_EQ(green_order(one_as_sawn(27, 120), metric).products[0].thickness, 27);
}

TEST(GreenOrder, InInchesAWidthIsWhatTheTapeShows) {
  Mill mill = in_inches(Mill{});
  mill.kerf = 6.35;
  const double asked = one_as_sawn(27.5, 120).products[0].value_of(0);
  const Product product = green_order(one_as_sawn(27.5, 120), mill).products[0];
  EXPECT_NEAR(product.thickness, 18 * sixteenth, 1e-9);  // 27.5 mm is 17.3 sixteenths
  EXPECT_NEAR(product.width, 76 * sixteenth, 1e-9);      // 120 mm is 75.6
  EXPECT_DOUBLE_EQ(product.value_of(0), asked);
  Order slab = one_as_sawn(27.5, 120);
  slab.products[0].live_edge = true;
  EXPECT_EQ(green_order(slab, mill).products[0].width, 120);  // its edges are not sawn
  const Product inches = green_order(one_as_sawn(25.4, 139.7), mill).products[0];
  EXPECT_EQ(inches.thickness, 25.4);
  EXPECT_EQ(inches.width, 139.7);
}

TEST(GreenOrder, APriceByTheCubicMetreIsPaidForTheFinishedSize) {
  Order order = one_product({20, 100, 12, 2, 0.05, {}}, "cherry");
  order.products[0].values.clear();
  order.products[0].price_per_m3 = 1000;
  const Order green = green_order(order, exact_mill());
  EXPECT_NEAR(green.products[0].value_of(0), 0.020 * 0.100 * 0.900 * 1000, 1e-12);
}

}  // namespace
}  // namespace kerfwright
