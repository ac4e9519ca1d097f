#include "kerfwright/trade/inches.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <string>

#include "fault.hpp"
#include "kerfwright/trade/mill.hpp"
#include "kerfwright/trade/order.hpp"

namespace kerfwright {
namespace {

constexpr double inch = 25.4;  // exact by definition

TEST(Inches, AreReadAsAPersonWritesThem) {
  const std::pair<const char*, double> said[] = {{"1 1/2 in", 38.1},
                                                 {"1-1/2 in", 38.1},
                                                 {"2.5 in", 63.5},
                                                 {"3/8 in", 9.525},
                                                 {"25/32in", 25.0 / 32 * inch},
                                                 {"8 ft", 2438.4},
                                                 {"8 ft 6 in", 2590.8},
                                                 {"8 ft 6 1/4 in", 2597.15},
                                                 {"8' 6\"", 2590.8},
                                                 {"1 inch", 25.4},
                                                 {" 12 inches ", 304.8},
                                                 {"50 mm", 50},
                                                 {"2.4 m", 2400},
                                                 {"24.5 cm", 245}};
  for (const auto& [text, mm] : said) {
    const auto length = length_of(text);
    ASSERT_TRUE(length.has_value()) << text;
    EXPECT_NEAR(*length, mm, 1e-9) << text;
  }
}

TEST(Inches, WhatIsNoLengthIsNotGuessedAt) {
  for (const char* text : {"",           " ",
                           "50",         "in",
                           "1/0 in",     "1 3/2 in",
                           "-2 in",      "2 in 3",
                           "6 in 8 ft",  "8 ft 6",
                           "8 ft 6 mm",  "1 ft 2 ft",
                           "1.5 1/2 in", "1e3 mm",
                           "2,5 in",     "1 1/2",
                           "1/2/3 in",   "5 inn",
                           "5 minutes",  "9999999 mm",
                           "nan mm",     "2 in 3 in 4 in",
                           "\xC2\xBD in"}) {
    EXPECT_FALSE(length_of(text).has_value()) << text;
  }
}

TEST(Inches, AreToldInLowestTerms) {
  EXPECT_EQ(inch_text(0), "0");
  EXPECT_EQ(inch_text(5.375 * inch), "5 3/8");
  EXPECT_EQ(inch_text(0.375 * inch), "3/8");
  EXPECT_EQ(inch_text(12 * inch), "12");
  EXPECT_EQ(inch_text(2.5 * inch), "2 1/2");
  EXPECT_EQ(inch_text(25.0 / 32 * inch, 32), "25/32");
  EXPECT_EQ(inch_text(-1.5 * inch), "-1 1/2");
  EXPECT_EQ(inch_text(-0.1), "0");          // no "-0"
  EXPECT_EQ(inch_text(0.999 * inch), "1");  // carried into the whole
  EXPECT_EQ(inch_text(0.97 * inch), "1");   // 15.52 sixteenths
  EXPECT_EQ(inch_text(0.968 * inch), "15/16");
}

TEST(Inches, ComeBackFromTheirText) {
  for (int n = 0; n < 2000; ++n) {
    const double mm = n * inch / 32;
    const auto back = length_of(inch_text(mm, 32) + " in");
    ASSERT_TRUE(back.has_value()) << n;
    EXPECT_NEAR(*back, mm, 1e-9) << inch_text(mm, 32);
    EXPECT_LE(std::abs(*length_of(inch_text(mm, 16) + " in") - mm), inch / 32 + 1e-9);
  }
}

/// PS 20, green: sizes as size charts that cite it and an engineering reprint of its table print
/// them, typed from there and not from the program.
/// In a sentence lengths are said in inches, and what is no length stays.
TEST(Inches, ASentenceIsSaidInThem) {
  EXPECT_EQ(sentence_in_inches("one 1.84 m long and 179 mm thick; 3 logs of 0.151 m3 at 2 m/s"),
            "one 72 7/16 in long and 7 1/16 in thick; 3 logs of 5.33 cubic feet at 78 3/4 in/s");
  EXPECT_EQ(sentence_in_inches("(2 degrees, 3 mm, blade 1 mm) it gives 135.33 net"),
            "(2 degrees, 1/8 in, blade 0.04 in) it gives 135.33 net");
  EXPECT_EQ(sentence_in_inches("300 x 400 x 4000 mm."), "11 13/16 x 15 3/4 x 157 1/2 in.");
  EXPECT_EQ(sentence_in_inches("log-3.1 mmm p2 mm 12"), "log-3.1 mmm p2 mm 12");
  EXPECT_EQ(sentence_in_inches(""), "");
  EXPECT_EQ(sentence_in_inches("'5 mm board' is no length of 50 to 300 mm; write \"2.6 m\""),
            "'5 mm board' is no length of 1 15/16 to 11 13/16 in; write \"2.6 m\"");
  EXPECT_EQ(sentence_in_inches("the log's 300 mm, 'a' is 25 mm"),
            "the log's 11 13/16 in, 'a' is 1 in");
  EXPECT_EQ(sentence_in_inches("an open 'quote of 5 mm"), "an open 'quote of 5 mm");
  EXPECT_EQ(sentence_in_inches("about 454 kg green (oak, 1000 kg/m3), at most 100 to 200 kg."),
            "about 1001 lb green (oak, 62 lb per cubic foot), at most 220 to 441 lb.");
}

TEST(NominalSizes, AreThoseOfThePublishedTable) {
  struct Row {
    const char* name;
    const char* thickness;
    const char* width;
  };
  const Row rows[] = {{"1x2", "25/32 in", "1 9/16 in"},       {"1x3", "25/32 in", "2 9/16 in"},
                      {"1x4", "25/32 in", "3 9/16 in"},       {"1 1/4x6", "1 1/32 in", "5 5/8 in"},
                      {"1-1/2 x 8", "1 9/32 in", "7 1/2 in"}, {"2x4", "1 9/16 in", "3 9/16 in"},
                      {"2x5", "1 9/16 in", "4 5/8 in"},       {"2x6", "1 9/16 in", "5 5/8 in"},
                      {"2x8", "1 9/16 in", "7 1/2 in"},       {"2x10", "1 9/16 in", "9 1/2 in"},
                      {"2x12", "1 9/16 in", "11 1/2 in"},     {"2 1/2x4", "2 1/16 in", "3 9/16 in"},
                      {"3X6", "2 9/16 in", "5 5/8 in"},       {"3 1/2x4", "3 1/16 in", "3 9/16 in"},
                      {"4x4", "3 9/16 in", "3 9/16 in"},      {"4 × 14", "3 9/16 in", "13 1/2 in"},
                      {"4x16", "3 9/16 in", "15 1/2 in"},     {"6x6", "5 1/2 in", "5 1/2 in"},
                      {"6x8", "5 1/2 in", "7 1/2 in"},        {"8x12", "7 1/2 in", "11 1/2 in"},
                      {"16x16", "15 1/2 in", "15 1/2 in"}};
  for (const Row& row : rows) {
    const auto size = nominal_size(row.name);
    ASSERT_TRUE(size.has_value()) << row.name;
    EXPECT_NEAR(size->thickness, *length_of(row.thickness), 1e-9) << row.name;
    EXPECT_NEAR(size->width, *length_of(row.width), 1e-9) << row.name;
  }
  for (const char* none : {"", "2", "2x", "x4", "4x2", "2x7", "2x9", "5/4x6x8", "2x4 in", "7.5x9",
                           "0x4", "2x4x8", "99x99"}) {
    EXPECT_FALSE(nominal_size(none).has_value()) << none;
  }
}

std::string order_with(const std::string& size, const std::string& lengths = "[2400]") {
  return "[[product]]\nname = \"stud\"\n" + size + "\nlengths = " + lengths +
         "\nprice_per_m3 = 400\n";
}

TEST(OrderInInches, TakesSizesAsTextsWithTheirUnit) {
  const Order order = parse_order(
      order_with("thickness = \"1 1/2 in\"\nwidth = \"90 mm\"", "[\"8 ft\", 1200, \"8 ft 6 in\"]"),
      "o.toml");
  const Product& stud = order.products.at(0);
  EXPECT_NEAR(stud.thickness, 38.1, 1e-9);
  EXPECT_NEAR(stud.width, 90.0, 1e-9);
  ASSERT_EQ(stud.lengths.size(), 3U);
  EXPECT_NEAR(stud.lengths[0], 2438.4, 1e-9);
  EXPECT_EQ(stud.lengths[1], 1200);
  EXPECT_NEAR(stud.lengths[2], 2590.8, 1e-9);
  const Order slab = parse_order(
      order_with("thickness = \"2 in\"\nlive_edge = true\nmin_width = \"10 in\""), "o.toml");
  EXPECT_NEAR(slab.products.at(0).width, 254.0, 1e-9);
}

TEST(OrderInInches, ANominalSizeStandsForTheSizeToSaw) {
  const Product stud = parse_order(order_with("nominal = \"2x4\""), "o.toml").products.at(0);
  EXPECT_NEAR(stud.thickness, 1.5625 * inch, 1e-9);
  EXPECT_NEAR(stud.width, 3.5625 * inch, 1e-9);
}

TEST(OrderInInches, WhatIsWrongIsToldWithKeyAndLine) {
  const auto refused = [](const std::string& toml, const std::string& begins,
                          const std::string& holds) {
    expect_sentence(error_of([&] { parse_order(toml, "o.toml"); }), begins, holds);
  };
  refused(order_with("thickness = \"1 1/2\"\nwidth = 90"), "'o.toml', line 3: 'thickness'",
          "not '1 1/2'");
  refused(order_with("thickness = 38\nwidth = \"a hand\""), "'o.toml', line 4: 'width'", "a hand");
  refused(order_with("thickness = \"900 ft\"\nwidth = 90"), "'o.toml', line 3: 'thickness'",
          "at most 5000 mm");
  refused(order_with("thickness = 38\nwidth = 90", "[\"8 ft\", \"8\"]"),
          "'o.toml', line 5: 'lengths'", "'8'");
  refused(order_with("thickness = 38\nwidth = 90", "[\"8 ft\", 2438.4]"),
          "'o.toml', line 5: ", "twice");
  refused(order_with("nominal = \"2x7\""), "'o.toml', line 3: 'nominal'", "not '2x7'");
  refused(order_with("nominal = \"2x4\"\nwidth = 90"),
          "'o.toml', line 4: ", "'nominal' and 'width'");
}

TEST(MillInInches, HasAScaleOfSixteenthsWhereItSaysNoOther) {
  EXPECT_FALSE(parse_mill("", "m.toml").inches);
  EXPECT_FALSE(parse_mill("scale = \"mm\"", "m.toml").inches);
  EXPECT_EQ(parse_mill("", "m.toml").tape_step(), 1.0);
  const Mill saw = parse_mill("kerf = \"1/4 in\"\nbunks = [\"1 ft 6 in\", 2400]", "m.toml");
  EXPECT_DOUBLE_EQ(saw.kerf, 0.25 * inch);
  EXPECT_DOUBLE_EQ(saw.bunks[0], 18 * inch);
  EXPECT_DOUBLE_EQ(saw.bunks[1], 2400);
  const Mill mill = parse_mill("scale = \"inch\"", "m.toml");
  EXPECT_TRUE(mill.inches);
  EXPECT_DOUBLE_EQ(mill.height_step, 1.5875);
  EXPECT_DOUBLE_EQ(mill.tape_step(), 1.5875);
  EXPECT_EQ(mill.kerf, Mill{}.kerf);
  EXPECT_EQ(mill.lowest_cut, Mill{}.lowest_cut);
  const auto step = [](const std::string& value) {
    return parse_mill("scale = \"inch\"\nheight_step = " + value, "m.toml").height_step / inch;
  };
  EXPECT_DOUBLE_EQ(step("\"1/32 in\""), 1.0 / 32);
  EXPECT_DOUBLE_EQ(step("\"1/8 in\""), 1.0 / 8);
  EXPECT_DOUBLE_EQ(step("0.5"), 1.0 / 16);
  EXPECT_DOUBLE_EQ(step("5"), 3.0 / 16);  // 3.15 sixteenths
  expect_sentence(error_of([] { parse_mill("kerf = 2\nscale = \"yard\"", "m.toml"); }),
                  "'m.toml', line 2: 'scale'", "not 'yard'");
}

TEST(MillInInches, StaysAsItIsWhenAskedTwice) {
  Mill mill;
  mill.height_step = 2.0;
  const Mill once = in_inches(mill);
  EXPECT_EQ(in_inches(once).height_step, once.height_step);
  EXPECT_TRUE(once.inches);
}

}  // namespace
}  // namespace kerfwright
