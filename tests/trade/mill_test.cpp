#include "kerfwright/trade/mill.hpp"

#include <gtest/gtest.h>

#include <filesystem>
#include <string>
#include <vector>

#include "fault.hpp"
#include "kerfwright/files.hpp"

namespace kerfwright {
namespace {

// A narrow-band mill of a small woodlot (invented). Every key differs from its default.
constexpr const char* woodlot_mill = R"(kerf             = 2.5
max_diameter     = 700
max_log_mass     = 800
max_cut_width    = 550
bunks            = [300, 1500, 2900]
lowest_cut       = 30
height_step      = 0.5
hourly_rate      = 35
feed_rate        = 0.4
minutes_per_cut  = 0.75
minutes_per_turn = 3
minutes_per_edging = 0.4
minutes_per_cross_cut = 0.3
sawing_variation = 0.6
)";

TEST(Mill, ReadsEveryKeyOfTheFileFormat) {
  const Mill mill = parse_mill(woodlot_mill, "mill.toml");
  EXPECT_EQ(mill.kerf, 2.5);
  EXPECT_EQ(mill.max_diameter, 700);
  EXPECT_EQ(mill.max_log_mass, 800);
  EXPECT_EQ(mill.max_cut_width, 550);
  EXPECT_EQ(mill.bunks, (std::vector<double>{300, 1500, 2900}));
  EXPECT_EQ(mill.lowest_cut, 30);
  EXPECT_EQ(mill.height_step, 0.5);
  EXPECT_EQ(mill.hourly_rate, 35);
  EXPECT_EQ(mill.feed_rate, 0.4);
  EXPECT_EQ(mill.minutes_per_cut, 0.75);
  EXPECT_EQ(mill.minutes_per_turn, 3);
  EXPECT_EQ(mill.minutes_per_edging, 0.4);
  EXPECT_EQ(mill.minutes_per_cross_cut, 0.3);
  EXPECT_EQ(mill.sawing_variation, 0.6);
}

TEST(Mill, AKeyThatIsLeftOutKeepsTheDefaultOfTheFileFormat) {
  const Mill mill = parse_mill("# a chain-saw mill as it comes\n", "mill.toml");
  EXPECT_EQ(mill.kerf, 6.0);
  EXPECT_EQ(mill.max_diameter, 600);
  EXPECT_EQ(mill.max_log_mass, 500);
  EXPECT_EQ(mill.max_cut_width, 620);
  EXPECT_EQ(mill.bunks, (std::vector<double>{400, 2600}));
  EXPECT_EQ(mill.lowest_cut, 25);
  EXPECT_EQ(mill.height_step, 1.0);
  EXPECT_EQ(mill.hourly_rate, 0);
  EXPECT_EQ(mill.feed_rate, 0.25);
  EXPECT_EQ(mill.minutes_per_cut, 1.0);
  EXPECT_EQ(mill.minutes_per_turn, 4.0);
  EXPECT_EQ(mill.minutes_per_edging, 0.5);
  EXPECT_EQ(mill.minutes_per_cross_cut, 0.25);
  EXPECT_EQ(mill.sawing_variation, 1.0);
}

TEST(Mill, WhatMayBeNoughtMayBeNought) {
  const Mill mill = parse_mill(
      "lowest_cut = 0\nhourly_rate = 0\nminutes_per_cut = 0\nminutes_per_turn = 0\nbunks = [0, "
      "900]\nkerf = 50",
      "m");
  EXPECT_EQ(mill.minutes_per_cut, 0);
  EXPECT_EQ(mill.bunks.front(), 0);
  EXPECT_EQ(mill.kerf, 50);
}

struct BadMill {
  const char* line;  ///< stands on line 2
  Fault fault;
  const char* holds;
};

TEST(Mill, EveryMistakeIsToldWithItsLine) {
  const std::vector<BadMill> mistakes = {
      {"kerf = 0", Fault::bad_mill,
       "'kerf' must be a number, more than 0 and at most 50 mm, not 0."},
      {"kerf = 50.1", Fault::bad_mill, "not 50.1."},
      {"kerf = -6", Fault::bad_mill, "not -6."},
      {"kerf = nan", Fault::bad_mill, "not nan."},
      {"kerf = \"6\"", Fault::bad_mill, "must be a number of mm or a text with its unit"},
      {"kerf = \"60 mm\"", Fault::bad_mill, "at most 50 mm, not '60 mm', which is 60 mm."},
      {"feed_rate = \"6 mm\"", Fault::bad_mill, "not a text."},
      {"bunks = [400, \"3 yd\"]", Fault::bad_mill, "'3 yd'"},
      {"kerf = [6]", Fault::bad_mill, "not a list."},
      {"kerf = {}", Fault::bad_mill, "not a table."},
      {"max_diameter = 0", Fault::bad_mill, "'max_diameter'"},
      {"max_diameter = 6e5", Fault::bad_mill, "at most 5000 mm, not 600000."},
      {"max_log_mass = 0", Fault::bad_mill, "at most 100000 kg"},
      {"max_log_mass = inf", Fault::bad_mill, "not inf."},
      {"max_cut_width = -1", Fault::bad_mill, "'max_cut_width'"},
      {"bunks = 400", Fault::bad_mill, "'bunks' must be a list of numbers"},
      {"bunks = []", Fault::bad_mill, "'bunks' must hold 1 to 50 numbers, not 0."},
      {"bunks = [400]", Fault::bad_mill, "at least two places"},
      {"bunks = [-1, 400]", Fault::bad_mill, "at least 0"},
      {"bunks = [400, 400]", Fault::bad_mill, "must grow from the butt"},
      {"bunks = [2600, 400]", Fault::bad_mill, "must grow from the butt"},
      {"bunks = [400, true]", Fault::bad_mill, "not true or false."},
      {"lowest_cut = -1", Fault::bad_mill, "'lowest_cut'"},
      {"height_step = 0", Fault::bad_mill, "more than 0 and at most 100 mm"},
      {"hourly_rate = -0.5", Fault::bad_mill, "at least 0"},
      {"feed_rate = 0", Fault::bad_mill, "more than 0 and at most 1000 m2/min"},
      {"minutes_per_cut = -1", Fault::bad_mill, "'minutes_per_cut'"},
      {"minutes_per_turn = 1441", Fault::bad_mill, "at most 1440 min"},
      {"bunk = [1, 2]", Fault::unknown_key, "'bunk' is no key of a mill; did you mean 'bunks'?"},
      {"Kerf = 6", Fault::unknown_key, "did you mean 'kerf'?"},
      {"brand = 1", Fault::unknown_key, "the keys of a mill are kerf, max_diameter"},
      {"[saw]", Fault::unknown_key, "'saw' is no key of a mill"},
      {"kerf 6", Fault::bad_toml, "this is not TOML"},
      {"kerf = 6 7", Fault::bad_toml, "this is not TOML"},
  };
  for (const BadMill& mistake : mistakes) {
    SCOPED_TRACE(mistake.line);
    const auto error =
        error_of([&] { parse_mill("# a mill\n" + std::string(mistake.line) + "\n", "mill.toml"); });
    EXPECT_EQ(error.fault(), mistake.fault);
    expect_sentence(error, "'mill.toml', line 2", mistake.holds);
  }
}

TEST(Mill, AFileIsReadFromItsPlaceAndNamedInComplaints) {
  const auto folder = std::filesystem::path(testing::TempDir()) / "kerfwright-mill";
  std::filesystem::create_directories(folder);
  const std::string path = folder / "mill.toml";
  write_file(path, woodlot_mill);
  EXPECT_EQ(read_mill(path).kerf, 2.5);
  EXPECT_EQ(error_of([&] { read_mill(folder / "none.toml"); }).fault(), Fault::no_file);
}

}  // namespace
}  // namespace kerfwright
