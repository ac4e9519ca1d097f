#include "kerfwright/yard/need.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <nlohmann/json.hpp>
#include <numbers>

#include "error_of.hpp"
#include "kerfwright/shape/section.hpp"
#include "kerfwright/yard/yard_sheets.hpp"
#include "saw/shapes.hpp"

// How many logs a list takes, from typical logs; sizes and numbers are invented.

namespace kerfwright {
namespace {

NeedSettings two_kinds() {
  NeedSettings settings;
  settings.diameters = {180, 300};
  settings.lengths = {2100};
  settings.bark = {5.0, 0.0, 0.0};
  settings.rounds = 4;
  settings.plan.patterns = {Pattern::live};
  return settings;
}

Order posts_and_rails(int posts, int rails) {
  Order order;
  order.products = {shapes::product("post", 150, 150, {2000}, 400),
                    shapes::product("rail", 40, 80, {1000}, 300)};
  order.products[0].wanted = posts;
  order.products[1].wanted = rails;
  return order;
}

TEST(Need, MakesALogOfTheTaperAndSweepThatWereAskedFor) {
  const LogShape shape = typical_shape({300, 4000}, {10.0, 5.0}, {0.0, 0.1, 0.0});
  EXPECT_NEAR(2.0 * static_cast<double>(shape.radius.front()[0]), 320.0, 1e-3);
  EXPECT_NEAR(2.0 * static_cast<double>(shape.radius.back()[0]), 280.0, 1e-3);
  EXPECT_NEAR(shape.axis[20].x(), 20.0, 1e-9);
  EXPECT_NEAR(shape.axis.back().x(), 0.0, 1e-9);
  EXPECT_NEAR(bark_at(shape, 20), 15.0, 0.01);
}

// A log of 180 mm cannot hold a post of 150 x 150, whose diagonal is 212 mm; one of 300 mm holds
// one and, by its area, at most two.
TEST(Need, CountsWholeLogsAndNamesWhatALogNeverGives) {
  const Need need = need_of(posts_and_rails(6, 12), Mill{}, two_kinds());
  ASSERT_EQ(need.rows.size(), 2U);
  EXPECT_FALSE(need.rows[0].logs.has_value());
  ASSERT_EQ(need.rows[0].never.size(), 1U);
  EXPECT_EQ(need.order.products[need.rows[0].never[0]].name, "post");
  ASSERT_TRUE(need.rows[1].logs.has_value());
  EXPECT_EQ(*need.rows[1].logs, 6);
  ASSERT_FALSE(need.mixture.empty());
  EXPECT_EQ(need.mixture.back().first, 1U);
}

TEST(Need, TellsLogsByKindWhatNeverComesOutAndWhatToLookAtInstead) {
  NeedSettings settings = two_kinds();
  const Need both = need_of(posts_and_rails(6, 12), Mill{}, settings);
  const std::string words = need_words(both, Mill{});
  EXPECT_NE(words.find("never gives 'post'"), std::string::npos) << words;
  EXPECT_NE(words.find("The least wood: about "), std::string::npos) << words;
  EXPECT_NE(words.find("6 of 300 mm by 2100 mm"), std::string::npos) << words;
  const auto json = nlohmann::json::parse(need_json(both));
  EXPECT_NE(json.dump().find("post"), std::string::npos);
  settings.diameters = {180};
  const std::string thin = need_words(need_of(posts_and_rails(6, 12), Mill{}, settings), Mill{});
  EXPECT_NE(thin.find("look at thicker or longer ones"), std::string::npos) << thin;
  EXPECT_EQ(thin.find("The least wood"), std::string::npos) << thin;
}

TEST(Need, TellsInchesWhereTheScaleShowsThem) {
  const Mill mill = in_inches(Mill{});
  const std::string words = need_words(need_of(posts_and_rails(6, 12), mill, two_kinds()), mill);
  EXPECT_NE(words.find(" in a foot"), std::string::npos) << words;
  EXPECT_EQ(words.find(" mm"), std::string::npos) << words;
}

TEST(Need, TakesNoFewerLogsWhenTheyArePoorAndNoMoreWhenTheyAreGood) {
  const Need need = need_of(posts_and_rails(4, 1500), Mill{}, two_kinds());
  const NeedRow& row = need.rows[1];
  ASSERT_TRUE(row.few && row.logs && row.many);
  EXPECT_LE(*row.few, *row.logs);
  EXPECT_LE(*row.logs, *row.many);
  EXPECT_LT(*row.few, *row.many) << "the sizes are too coarse to tell anything";
}

TEST(Need, RefusesAListThatCountsNothingAndLogsThatGiveNothing) {
  Order order = posts_and_rails(6, 12);
  for (Product& product : order.products) product.wanted.reset();
  EXPECT_EQ(error_of([&] { need_of(order, Mill{}, two_kinds()); }).fault(), Fault::bad_order);
  NeedSettings thin = two_kinds();
  thin.diameters = {60};
  EXPECT_EQ(error_of([&] { need_of(posts_and_rails(6, 0), Mill{}, thin); }).fault(),
            Fault::no_product_fits);
}

}  // namespace
}  // namespace kerfwright
