#include "kerfwright/shape/log_scale.hpp"

#include <gtest/gtest.h>

#include "hidden_part.hpp"
#include "kerfwright/shape/bark.hpp"
#include "kerfwright/shape/section.hpp"
#include "kerfwright/trade/scaling.hpp"
#include "known_solids.hpp"

namespace kerfwright {
namespace {

using solids::sampled;
using solids::Solid;

TEST(LogScale, OfA12InchBy16FootLogIsThePublishedOne) {
  // 12 in x 16 ft at the small end: Doyle 64, International 1/4 in 95, Scribner 86, Decimal C 80.
  Solid solid;
  solid.length = 16.2 * mm_per_foot;
  solid.radius = [&](double x, double) {
    return 6.0 * mm_per_inch + 0.25 * mm_per_inch * (solid.length - x) / (4.0 * mm_per_foot);
  };
  const LogScale scale = scale_log(sampled(solid, 100.0, 256));
  EXPECT_EQ(scale.scaled_diameter, 12);
  EXPECT_EQ(scale.scaled_length, 16);
  EXPECT_EQ(scale.doyle_table, 64);
  EXPECT_EQ(scale.international_table, 95);
  EXPECT_EQ(scale.scribner_table, 86);
  EXPECT_EQ(scale.decimal_c.value(), 80.0);
  // A frustum: Newton is exact, Smalian too large by twice what Huber lacks.
  EXPECT_NEAR(scale.newton / scale.model, 1.0, 1e-3);
  EXPECT_NEAR(scale.smalian - scale.newton, 2.0 * (scale.newton - scale.huber), 1e-6);
}

TEST(LogScale, IsUnderBarkAndSaysWhatNoTableLists) {
  LogShape shape = sampled({}, 100.0);  // 300 mm by 3 m: 9.8 ft
  shape.bark = 20;
  const LogScale scale = scale_log(shape);
  EXPECT_NEAR(scale.diameter, 260.0 / 25.4, 0.02);
  EXPECT_EQ(scale.scaled_length, 9);
  EXPECT_EQ(scale.decimal_c.value(), 30.0);  // 10 in x 8 ft
  const LogScale stub = scale_log(sampled({.length = 1500}, 100.0));
  EXPECT_FALSE(stub.decimal_c);
  EXPECT_NE(describe(stub).find("not listed"), std::string::npos);
}

TEST(SweepLoss, OfABowedCylinderIsTheLensThatTwoCirclesShare) {
  // Sections of radius r that move by s along one line have in common what the two outermost have:
  // 2 r^2 acos(s / 2r) - s / 2 sqrt(4 r^2 - s^2).
  constexpr double r = 150.0, s = 60.0;
  Solid bent;
  bent.axis = [](double x) {
    return Eigen::Vector2d(0.0, s * std::sin(std::numbers::pi * x / 3000.0));
  };
  const SweepLoss loss = sweep_loss(sampled(bent, 50.0, 256));
  const double lens =
      2.0 * r * r * std::acos(s / (2.0 * r)) - 0.5 * s * std::sqrt(4.0 * r * r - s * s);
  EXPECT_NEAR(loss.swept, lens * 3000.0 * 1e-9, 0.003 * loss.swept);
  EXPECT_NEAR(loss.straight, std::numbers::pi * r * r * 3000.0 * 1e-9, 0.003 * loss.straight);
  EXPECT_NEAR(sweep_loss(sampled({}, 50.0)).share(), 0.0, 1e-9);
}

TEST(Mass, IsComparedWithWhatTheMillTakes) {
  const LogShape shape = sampled({}, 100.0, 256);  // 0.212 m3
  Species oak;
  oak.name = "oak";
  EXPECT_NE(describe_mass(shape, oak, {}).find("no green density of oak"), std::string::npos);
  oak.green_density = Figure{1000, Evidence::looked_up, "for this test"};
  Mill mill;
  mill.max_log_mass = 200;
  EXPECT_NE(describe_mass(shape, oak, mill).find("too heavy"), std::string::npos);
  mill.max_log_mass = 230;
  EXPECT_NE(describe_mass(shape, oak, mill).find("weigh the log"), std::string::npos);
  mill.max_log_mass = 300;
  const std::string text = describe_mass(shape, oak, mill);
  EXPECT_NE(text.find("212 kg green with bark"), std::string::npos) << text;
  EXPECT_NE(text.find("170 to 254 kg"), std::string::npos) << text;
  EXPECT_EQ(text.find("weigh the log"), std::string::npos) << text;
  const std::string pounds = describe_mass(shape, oak, mill, true);
  EXPECT_NE(pounds.find("467 lb green with bark"), std::string::npos) << pounds;
  EXPECT_NE(pounds.find("374 to 561 lb (oak, 62 lb per cubic foot"), std::string::npos) << pounds;
  EXPECT_NE(pounds.find("the mill takes 661 lb"), std::string::npos) << pounds;
}

TEST(BarkRule, TakesTheSpeciesModelByDiameterAndElseItsRatio) {
  // Cherry, 30 cm over bark: double thickness 21.48 mm, worked by hand from the published model.
  EXPECT_NEAR(bark_thickness(bark_rule(find_species("cherry")), 150.0), 10.74, 0.005);
  EXPECT_NEAR(bark_thickness(bark_rule(find_species("Douglas-fir")), 150.0), 0.09 * 150.0, 1e-9);
  EXPECT_EQ(bark_thickness(bark_rule(find_species("ash")), 10.0), 0.0);  // never less than none
}

TEST(BarkRule, MakesBarkThickerAtTheButt) {
  Solid frustum;
  frustum.radius = [](double x, double) { return 200.0 - 50.0 * x / 3000.0; };
  LogShape shape = sampled(frustum, 100.0);
  put_bark(shape, {0.0, 0.09, 0.0});
  EXPECT_NEAR(bark_at(shape, 0), 18.0, 0.01);
  EXPECT_NEAR(bark_at(shape, shape.stations.size() - 1), 13.5, 0.01);
  EXPECT_NEAR(shape.bark, 15.75, 0.01);
  // With a ratio r of diameters the share of bark is 1 - r^2 of the volume.
  const double over = solid_volume_m3(shape, Bark::on);
  EXPECT_NEAR(1.0 - solid_volume_m3(shape, Bark::off) / over, 1.0 - 0.91 * 0.91, 1e-4);
  put_bark(shape, {7.0, 0.0, 0.0});
  EXPECT_TRUE(shape.bark_at_station.empty());
  EXPECT_EQ(bark_at(shape, 3), 7.0);
}

TEST(HiddenPart, IsSaidByClockAndPlace) {
  LogShape shape = sampled({}, 100.0, 120);  // 3 degrees an angle
  for (auto& row : shape.seen) {
    for (std::size_t j = 75; j < 106; ++j) row[j] = 0;  // 225 to 315 degrees: 7:30 to 4:30
  }
  const auto under = largest_hidden_part(shape);
  ASSERT_TRUE(under);
  EXPECT_EQ(in_words(*under),
            "the side from 4:30 to 7:30 o'clock (seen from the butt, 12 is up as it lay), from 0 "
            "to 3000 mm from the butt");
  LogShape gap = sampled({}, 100.0, 120);
  EXPECT_FALSE(largest_hidden_part(gap));
  for (std::size_t i = 12; i <= 24; ++i) {
    std::fill(gap.seen[i].begin(), gap.seen[i].end(), static_cast<unsigned char>(0));
  }
  EXPECT_EQ(in_words(largest_hidden_part(gap).value()),
            "the log all round, from 1200 to 2400 mm from the butt");
}

}  // namespace
}  // namespace kerfwright
