#include "kerfwright/trade/amounts.hpp"

#include <gtest/gtest.h>

namespace kerfwright {
namespace {

const Amounts metric{false};
const Amounts imperial{true};

// One foot is 0.3048 m and a pound 0.45359237 kg (international yard and pound agreement, 1959); a
// board foot is 12 x 12 x 1 in.
TEST(Amounts, OfLogsAreCubicFeetAndOfBoardsBoardFeet) {
  const double cubic_foot = 0.3048 * 0.3048 * 0.3048;
  EXPECT_EQ(imperial.log(10 * cubic_foot), "10.00 cubic feet");
  EXPECT_EQ(imperial.boards(10 * cubic_foot), "120.0 board feet");
  EXPECT_EQ(imperial.boards(0.3048 * 0.3048 * 0.0254, 2), "1 board feet");
  EXPECT_EQ(metric.log(0.1514), "0.151 m3");
  EXPECT_EQ(metric.boards(0.0794), "0.079 m3");
  EXPECT_EQ(metric.log_number(0.15149, 4), "0.1515");
}

TEST(Amounts, MassesArePounds) {
  EXPECT_EQ(imperial.mass(45.359237), "100 lb");
  EXPECT_EQ(metric.mass(45.359237), "45 kg");
  EXPECT_EQ(metric.density(900), "900 kg/m3");
  // Water: 62.4 lb in a cubic foot.
  EXPECT_EQ(imperial.density(1000), "62 lb per cubic foot");
}

TEST(Amounts, APriceOfAM3IsToldForACubicFoot) {
  EXPECT_DOUBLE_EQ(metric.price(100), 100);
  EXPECT_NEAR(imperial.price(100), 2.8317, 1e-4);
}

}  // namespace
}  // namespace kerfwright
