#include "kerfwright/shape/bumps.hpp"

#include <gtest/gtest.h>

#include "kerfwright/shape/mark_geometry.hpp"
#include "kerfwright/shape/read_marks.hpp"
#include "known_solids.hpp"

namespace kerfwright {
namespace {

using solids::sampled;
using solids::Solid;

/// A bell on a cylinder of 150 mm, `reach` mm one standard deviation, at 1200 mm and 3 o'clock.
LogShape with_bell(double height, double reach_along, double reach_round) {
  Solid solid;
  solid.radius = [=](double x, double angle) {
    const double along = (x - 1200.0) / reach_along;
    const double round =
        150.0 * std::remainder(angle - std::numbers::pi, 2.0 * std::numbers::pi) / reach_round;
    return 150.0 + height * std::exp(-0.5 * (along * along + round * round));
  };
  return sampled(solid, 10.0);
}

TEST(Bumps, AreFoundWhereTheyAreAndAsLargeAsTheyAre) {
  const auto bumps = find_bumps(with_bell(20.0, 20.0, 20.0));
  ASSERT_EQ(bumps.size(), 1U);
  EXPECT_NEAR(bumps[0].x, 1200.0, 5.0);
  EXPECT_NEAR(bumps[0].clock, 3.0, 0.1);  // +y is to the left, angle pi is -y
  EXPECT_NEAR(bumps[0].height, 20.0, 1.0);
  EXPECT_NEAR(bumps[0].diameter, 2.0 * 20.0 * std::sqrt(2.0 * std::log(2.0)), 6.0);
  EXPECT_FALSE(bumps[0].is_burl);
}

TEST(Bumps, AsWideAsHalfTheLogAreSwellings) {
  const auto bumps = find_bumps(with_bell(40.0, 90.0, 80.0));
  ASSERT_EQ(bumps.size(), 1U);
  EXPECT_TRUE(bumps[0].is_burl);
  EXPECT_TRUE(proposed_knots(with_bell(40.0, 90.0, 80.0), bumps).empty());
}

TEST(Bumps, AreNotRidgesFlaresNorWhatWasOnlyInferred) {
  EXPECT_TRUE(find_bumps(with_bell(20.0, 1e6, 20.0)).empty());  // a ridge from end to end
  EXPECT_TRUE(find_bumps(with_bell(20.0, 60.0, 1e6)).empty());  // a collar
  Solid oval;
  oval.radius = [](double, double angle) { return 150.0 + 12.0 * std::cos(2.0 * angle); };
  EXPECT_TRUE(find_bumps(sampled(oval, 25.0)).empty());
  LogShape hidden = with_bell(20.0, 20.0, 20.0);
  for (auto& row : hidden.seen) std::fill(row.begin(), row.end(), static_cast<unsigned char>(0));
  EXPECT_TRUE(find_bumps(hidden).empty());
  LogShape unsure = with_bell(20.0, 20.0, 20.0);
  for (auto& row : unsure.sigma) std::fill(row.begin(), row.end(), 8.0F);
  EXPECT_TRUE(find_bumps(unsure).empty());
}

TEST(Bumps, ThatTheFitSmoothedAwayShowInItsPoints) {
  Solid stub;
  stub.radius = [](double x, double angle) {
    const double round = 150.0 * std::remainder(angle - 1.0, 2.0 * std::numbers::pi);
    return 150.0 + (std::hypot(x - 900.0, round) < 22.0 ? 18.0 : 0.0);
  };
  const LogShape smooth = sampled({}, 25.0);
  EXPECT_TRUE(find_bumps(smooth).empty());
  const auto bumps = find_bumps(smooth, solids::scanned(stub, 60000, 3.0, 0.0).points);
  ASSERT_EQ(bumps.size(), 1U);
  EXPECT_NEAR(bumps[0].x, 900.0, 15.0);
  EXPECT_NEAR(bumps[0].clock, clock_hours({std::cos(1.0), std::sin(1.0)}), 0.3);
  EXPECT_NEAR(bumps[0].height, 18.0, 4.0);
  EXPECT_NEAR(bumps[0].diameter, 44.0, 12.0);
}

TEST(Bumps, AreProposedAsAFileOfMarksThatCanBeRead) {
  const LogShape shape = with_bell(20.0, 20.0, 20.0);
  const Marks marks =
      parse_marks(proposed_marks(shape, find_bumps(shape), "log.ply"), "proposed.toml", shape);
  ASSERT_EQ(marks.knots.size(), 1U);
  const Knot knot = proposed_knots(shape, find_bumps(shape)).at(0);
  EXPECT_NEAR(knot.at_bark.x(), 1200.0, 5.0);
  EXPECT_NEAR(knot.at_bark.y(), -150.0, 2.0);  // at the bark, not at the top of the stub
  EXPECT_NEAR(knot.at_pith.y(), 0.0, 1.0);
  EXPECT_NEAR(knot.diameter, marks.knots[0].diameter, 1.0);
  const LogShape burl = with_bell(40.0, 90.0, 80.0);
  EXPECT_TRUE(parse_marks(proposed_marks(burl, find_bumps(burl), "log.ply"), "proposed.toml", burl)
                  .empty());
}

}  // namespace
}  // namespace kerfwright
