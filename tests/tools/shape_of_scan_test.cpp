// From a file to a shape, and what a tape says to it.

#include "kerfwright/shape/shape_of_scan.hpp"

#include <gtest/gtest.h>
#include <unistd.h>

#include <algorithm>
#include <cmath>
#include <filesystem>
#include <numbers>

#include "invented/phone_scan.hpp"
#include "invented/recipes.hpp"
#include "kerfwright/files.hpp"
#include "kerfwright/shape/measure.hpp"

namespace kerfwright {
namespace {

bool has_note(const ShapeOfScan& log, const std::string& words) {
  const auto& notes = log.shape.notes;
  return std::any_of(notes.begin(), notes.end(), [&](const std::string& note) {
    return note.find(words) != std::string::npos;
  });
}

/// The plum, whose coordinates are `scale` times too large, in a file of its own.
class ShapeOfScanTest : public testing::Test {
 protected:
  std::string plum(double scale) {
    path_ = std::filesystem::temp_directory_path() /
            ("plum-" + std::to_string(::getpid()) + "-" + std::to_string(scale) + ".ply");
    PhoneSettings phone;
    phone.points = 25000;
    phone.scale = scale;
    write_file(path_, to_ply(scan_like_a_phone(recipe("short-plum"), phone)));
    return path_;
  }
  void TearDown() override { std::filesystem::remove(path_); }

 private:
  std::filesystem::path path_;
};

TEST_F(ShapeOfScanTest, ATapedLengthGivesTheScaleToATenthOfAMillimetreOrSo) {
  ScanToShape settings;
  settings.find.taped.length = 900.0;
  const ShapeOfScan log = shape_of_scan(plum(1.37), settings);
  EXPECT_NEAR(log.shape.length(), 900.0, 0.3);
  EXPECT_NEAR(measure(log.shape).middle.mean_over_bark, 200.0, 3.0);
  EXPECT_EQ(log.labels.size(), 25000U);
  EXPECT_TRUE(has_note(log, "as taped"));
  EXPECT_TRUE(has_note(log, "37.0 % apart from the tape") || has_note(log, "36.") ||
              has_note(log, "37."));
  EXPECT_FALSE(has_note(log, "Taken to be in"));
}

TEST_F(ShapeOfScanTest, AGirthOrADiameterAtAnEndGivesItToo) {
  const LogMeasures truth = measure(shape_of_scan(plum(1.0), {}).shape);
  ScanToShape girth;
  girth.find.taped.butt_girth = truth.butt.mean_over_bark * std::numbers::pi;
  EXPECT_NEAR(shape_of_scan(plum(0.71), girth).shape.length(), truth.length, 4.0);
  ScanToShape diameter;
  diameter.find.taped.top_diameter = truth.top.mean_over_bark;
  EXPECT_NEAR(shape_of_scan(plum(0.71), diameter).shape.length(), truth.length, 4.0);
}

TEST_F(ShapeOfScanTest, WhatIsMoreThanTwoPercentApartIsSaidAndTheLengthBelieved) {
  const std::string file = plum(1.0);
  const LogMeasures truth = measure(shape_of_scan(file, {}).shape);
  ScanToShape settings;
  settings.read.unit = LengthUnit::metre;
  settings.find.taped.length = truth.length;
  settings.find.taped.butt_diameter = 1.015 * truth.butt.mean_over_bark;
  EXPECT_FALSE(has_note(shape_of_scan(file, settings), "apart"));
  settings.find.taped.butt_diameter = 1.04 * truth.butt.mean_over_bark;
  const ShapeOfScan log = shape_of_scan(file, settings);
  EXPECT_TRUE(has_note(log, "By tape the diameter at the butt"));
  EXPECT_TRUE(has_note(log, "The length was believed"));
  EXPECT_NEAR(log.shape.length(), truth.length, 0.3);
  settings.find.taped = {};
  settings.find.taped.length = 0.95 * truth.length;
  EXPECT_TRUE(has_note(shape_of_scan(file, settings), "By the unit given for the scan"));
}

}  // namespace
}  // namespace kerfwright
