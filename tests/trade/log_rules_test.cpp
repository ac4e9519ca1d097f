#include <gtest/gtest.h>

#include <cmath>
#include <map>
#include <utility>

#include "kerfwright/trade/scaling.hpp"
#include "published_tables.hpp"

namespace kerfwright {
namespace {

/// Calls `check(diameter, length, printed)` for each cell of a printed table.
template <typename Table, typename Check>
void for_each_cell(const Table& table, Check&& check) {
  for (std::size_t row = 0; row < table.size(); ++row) {
    for (std::size_t column = 0; column < table[row].size(); ++column) {
      const int diameter = 6 + static_cast<int>(row), length = 8 + 2 * static_cast<int>(column);
      SCOPED_TRACE(std::to_string(diameter) + " in x " + std::to_string(length) + " ft");
      check(diameter, length, table[row][column]);
    }
  }
}

TEST(LogRules, DoyleGivesEveryCellOfThePrintedTable) {
  for_each_cell(published::doyle,
                [](int d, int l, int printed) { EXPECT_EQ(doyle_table(d, l), printed); });
}

TEST(LogRules, DoyleRoundsHalvesUpAsPrinted) {
  EXPECT_EQ(doyle(10, 10), 22.5);
  EXPECT_EQ(doyle_table(10, 10), 23);
}

TEST(LogRules, DoyleIsNothingUpToFourInchesAndDoesNotGrowBelow) {
  EXPECT_EQ(doyle(4, 16), 0);
  EXPECT_EQ(doyle(1, 16), 0);
}

TEST(LogRules, InternationalGivesEveryCellOfThePrintedTableButTwo) {
  // The two stand one step of 5 bf above the formula in print: 157.3 is printed 160, 177.4 is
  // printed 180.
  const std::map<std::pair<int, int>, int> odd = {{{15, 16}, 155}, {{17, 14}, 175}};
  for_each_cell(published::international_quarter, [&odd](int d, int l, int printed) {
    const auto exception = odd.find({d, l});
    const int expected = exception == odd.end() ? printed : exception->second;
    EXPECT_EQ(international_quarter_table(d, l), expected);
    if (exception != odd.end()) {
      EXPECT_EQ(printed, expected + 5);
    }
  });
  EXPECT_NEAR(international_quarter(15, 16), 157.3, 0.05);
  EXPECT_NEAR(international_quarter(17, 14), 177.4, 0.05);
}

TEST(LogRules, InternationalGivesThePrintedSixFootColumn) {
  // Extension table of E. M. Wengert, 6 to 26 in.
  const int printed[] = {5,  10, 10, 15,  20,  25,  30,  40,  45,  55, 60,
                         70, 80, 90, 100, 115, 125, 140, 150, 165, 180};
  for (int i = 0; i < 21; ++i)
    EXPECT_EQ(international_quarter_table(6 + i, 6), printed[i]) << 6 + i;
}

TEST(LogRules, TheFactorIsTheOneThatGivesThePrintedTwentyOneInchCell) {
  // 0.905 gives 152.53, printed 155; the 0.904762 of MCL 290.401 gives 152.49, which rounds to 150.
  EXPECT_NEAR(international_quarter(21, 8), 152.53, 0.005);
  EXPECT_NEAR(0.904762 * international_eighth(21, 8), 152.49, 0.005);
  EXPECT_EQ(international_quarter_table(21, 8), 155);
}

TEST(LogRules, InternationalEighthIsThePublishedExample) {
  // University of Missouri forestry teaching page.
  EXPECT_NEAR(international_eighth(10, 16), 71.44, 0.01);
  EXPECT_NEAR(international_eighth(28, 16), 646.0, 0.1);  // printed as 646; the sum is 646.00
}

TEST(LogRules, InternationalEighthIsThePublishedClosedForm) {
  // Same page. Its constants are rounded to 0.01.
  for (double d = 6; d <= 30; d += 0.5) {
    EXPECT_NEAR(international_eighth(d, 8), 0.44 * d * d - 1.20 * d - 0.30, 0.006);
    EXPECT_NEAR(international_eighth(d, 12), 0.66 * d * d - 1.47 * d - 0.79, 0.006);
    EXPECT_NEAR(international_eighth(d, 16), 0.88 * d * d - 1.52 * d - 1.36, 0.006);
    EXPECT_NEAR(international_eighth(d, 20), 1.10 * d * d - 1.35 * d - 1.90, 0.006);
  }
}

TEST(LogRules, NoRuleIsEverNegative) {
  for (double d = 0; d <= 8; d += 0.25) {
    EXPECT_GE(doyle(d, 16), 0);
    EXPECT_GE(international_eighth(d, 16), 0);
    EXPECT_GE(scribner(d, 16), 0);
  }
}

TEST(LogRules, ScribnerIsTheFittedFormula) {
  // Extension summary of the log rules, evaluated by hand.
  EXPECT_NEAR(scribner(12, 16), 85.76, 1e-9);
  EXPECT_NEAR(scribner(30, 16), 647.0, 1e-9);
}

TEST(LogRules, DecimalCGivesEveryCellOfThePrintedTable) {
  for_each_cell(published::scribner_decimal_c,
                [](int d, int l, double printed) { EXPECT_EQ(scribner_decimal_c(d, l), printed); });
}

TEST(LogRules, DecimalCHasTheCellsThatTwoOtherReprintsShow) {
  // US Forest Service table reprinted in a farm rule book, and the extension table of E. M.
  // Wengert.
  EXPECT_EQ(scribner_decimal_c(6, 8), 0.5);
  EXPECT_EQ(scribner_decimal_c(30, 16), 66);
  EXPECT_EQ(scribner_decimal_c(12, 16), 8);
  EXPECT_EQ(scribner_decimal_c(20, 16), 28);
  EXPECT_EQ(scribner_decimal_c(14, 12), 9);
}

TEST(LogRules, DecimalCIsEmptyOutsideItsTable) {
  for (const auto& [d, l] : std::vector<std::pair<int, int>>{
           {5, 16}, {31, 16}, {12, 6}, {12, 18}, {12, 9}, {-1, 8}, {12, -8}, {2147483647, 16}}) {
    EXPECT_FALSE(scribner_decimal_c(d, l).has_value()) << d << " x " << l;
  }
}

TEST(LogRules, NoRoundingOfTheFormulaIsDecimalC) {
  // 16 ft column, where the formula to the nearest ten differs: diameter -> formula, table
  // (computed beside the published table).
  const std::map<int, std::pair<int, int>> differs = {
      {6, {1, 2}},    {7, {2, 3}},    {12, {9, 8}},   {14, {12, 11}}, {16, {17, 16}},
      {17, {19, 18}}, {18, {22, 21}}, {20, {27, 28}}, {23, {37, 38}}, {25, {44, 46}},
      {26, {48, 50}}, {27, {52, 55}}, {28, {56, 58}}, {29, {60, 61}}, {30, {65, 66}}};
  for (int d = 6; d <= 30; ++d) {
    const int formula = static_cast<int>(std::lround(scribner(d, 16) / 10));
    const int table = static_cast<int>(scribner_decimal_c(d, 16).value());
    const auto row = differs.find(d);
    EXPECT_EQ(formula != table, row != differs.end()) << d;
    if (row != differs.end()) {
      EXPECT_EQ(std::pair(formula, table), row->second) << d;
    }
  }
}

TEST(LogRules, TheFourRulesOnOneLogAreTheWorkedExample) {
  // 12 in x 16 ft: Doyle 64, International 95, Scribner formula 86, Decimal C 80 bf (computed).
  EXPECT_EQ(doyle_table(12, 16), 64);
  EXPECT_EQ(international_quarter_table(12, 16), 95);
  EXPECT_EQ(std::lround(scribner(12, 16)), 86);
  EXPECT_EQ(10 * scribner_decimal_c(12, 16).value(), 80);
  EXPECT_EQ(std::lround(overrun_percent(100, 64)), 56);
  EXPECT_EQ(std::lround(overrun_percent(100, 95)), 5);
}

}  // namespace
}  // namespace kerfwright
