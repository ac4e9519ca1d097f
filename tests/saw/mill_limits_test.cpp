#include "mill_limits.hpp"

#include <gtest/gtest.h>

#include "error_of.hpp"
#include "kerfwright/saw/replay.hpp"
#include "shapes.hpp"

namespace kerfwright {
namespace {

TEST(MillLimits, ALogThatIsTooThickIsToldWithBothNumbers) {
  Mill mill;
  mill.max_diameter = 300;
  const auto error = error_of([&] {
    plan_log(shapes::bowed(2000, 160, 150, 0), shapes::boards(50, {1900}), mill, shapes::quick());
  });
  EXPECT_EQ(error.fault(), Fault::log_beyond_mill);
  const std::string sentence = error.what();
  EXPECT_NE(sentence.find("320 mm thick"), std::string::npos) << sentence;
  EXPECT_NE(sentence.find("300 mm"), std::string::npos) << sentence;
}

TEST(MillLimits, ALogThatIsTooHeavyIsToldOnceTheSpeciesIsKnown) {
  // Beech, 0.5027 m3 and 916 kg/m3 (G 0.56 and 63.5 % moisture: FPL-GTR-190, Tables 4-1 and 5-3):
  // 460 kg, close to the 500 kg that a small mill takes without special arrangements (common
  // practice).
  const LogShape shape = shapes::bowed(4000, 200, 200, 0);
  Order order = shapes::boards(50, {3900});
  order.species = "beech, American";
  Mill mill;
  mill.max_log_mass = 455;
  const auto error = error_of([&] { refuse_log_beyond_mill(shape, order, mill); });
  EXPECT_EQ(error.fault(), Fault::log_beyond_mill);
  EXPECT_NE(std::string(error.what()).find("kg green"), std::string::npos) << error.what();
  mill.max_log_mass = 470;
  EXPECT_NO_THROW(refuse_log_beyond_mill(shape, order, mill));
  mill.max_log_mass = 10;
  order.species.clear();  // nothing is guessed
  EXPECT_NO_THROW(refuse_log_beyond_mill(shape, order, mill));
}

/// Half the height of the part of a round log whose cuts are wider than the mill can make.
double half_forbidden(double radius, double widest) {
  return std::sqrt(radius * radius - 0.25 * widest * widest);
}

TEST(MillLimits, NoCutIsWiderThanTheMillCanMake) {
  const double radius = 150;
  const LogShape shape = shapes::bowed(1250, radius, radius, 0);
  const Order order = shapes::boards(30, {1200}, 60, 240, 20);
  Mill mill;
  mill.max_cut_width = 240;
  const SawPlan plan = plan_log(shape, order, mill, shapes::quick());
  EXPECT_TRUE(replay(plan, shape).complete);
  int sawn = 0;
  for (const Cut& cut : plan.cuts) {
    const auto& setup = plan.setups.at(static_cast<std::size_t>(cut.setup - 1));
    if (setup.kind != SetupKind::log || cut.normal.x() != 0.0) continue;
    ++sawn;
    const double height = std::abs(cut.point.dot(cut.normal));
    EXPECT_GE(height - 0.5 * mill.kerf, half_forbidden(radius, mill.max_cut_width) - 1.0);
  }
  EXPECT_GE(sawn, 2);
  const SawPlan free = plan_log(shape, order, Mill{}, shapes::quick());
  EXPECT_GE(free.totals.net, plan.totals.net - 1e-9);
}

TEST(MillLimits, PricesThatMakeEveryPieceWorthLessThanItsCutAreToldWithTheDearest) {
  Mill mill;
  mill.hourly_rate = 60;  // a cut of a minute costs 1
  Order order = shapes::boards(30, {600});
  for (Product& product : order.products) product.price_per_m3 = 10;
  const auto error =
      error_of([&] { plan_log(shapes::bowed(1250, 150, 150, 0), order, mill, shapes::quick()); });
  EXPECT_EQ(error.fault(), Fault::no_product_fits);
  const std::string sentence = error.what();
  EXPECT_NE(sentence.find("'board 200'"), std::string::npos) << sentence;
  EXPECT_NE(sentence.find("costs"), std::string::npos) << sentence;
}

TEST(Cost, ADayOnPlanksGivesTwoToThreeCubicMetresWithAChainSawMill) {
  // 2.3 to 2.6 m3 of sawn timber in a day of eight hours (common practice, no source).
  Mill mill;
  mill.hourly_rate = 15;  // with free time a planner saws any number of small boards
  for (const double radius : {200.0, 220.0, 240.0}) {
    const SawPlan plan = plan_log(shapes::bowed(4000, radius + 10, radius, 10),
                                  shapes::boards(50, {3900}, 150, 250, 50), mill, shapes::quick());
    const double day = 8.0 * plan.totals.board_m3 / plan.totals.hours;
    EXPECT_GT(day, 2.0) << radius;
    EXPECT_LT(day, 3.0) << radius;
  }
}

}  // namespace
}  // namespace kerfwright
