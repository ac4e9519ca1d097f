#include "kerfwright/sheet/shape_file.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <functional>
#include <limits>
#include <nlohmann/json.hpp>
#include <random>

#include "kerfwright/error.hpp"
#include "samples.hpp"

namespace kerfwright {
namespace {

using json = nlohmann::ordered_json;

std::string refusal_of(const std::string& text) {
  try {
    shape_from_json(text, "odd.json");
  } catch (const UserError& error) {
    EXPECT_EQ(error.fault(), Fault::bad_shape);
    return error.what();
  }
  return "accepted";
}

/// What is said when the file of a good shape is changed so.
std::string refusal_after(const std::function<void(json&)>& change) {
  json document = json::parse(shape_to_json(samples::live_log()));
  change(document);
  return refusal_of(document.dump());
}

TEST(ShapeFile, ComesBackByteForByte) {
  const std::string text = shape_to_json(samples::live_log());
  EXPECT_EQ(shape_to_json(shape_from_json(text, "log.json")), text);
}

TEST(ShapeFile, KeepsEveryFloatThatThereIs) {
  auto shape = samples::live_log();
  std::mt19937 random(7);
  std::uniform_real_distribution<float> radius(0.0F, 900.0F);
  for (auto& row : shape.radius) {
    for (auto& value : row) value = radius(random);
  }
  shape.radius[3][5] = std::numeric_limits<float>::denorm_min();
  const auto again = shape_from_json(shape_to_json(shape), "log.json");
  EXPECT_EQ(again.radius, shape.radius);
  EXPECT_EQ(again.sigma, shape.sigma);
  EXPECT_EQ(again.seen, shape.seen);
  EXPECT_EQ(again.stations, shape.stations);
  EXPECT_EQ(again.axis, shape.axis);
  EXPECT_EQ(again.source.points, shape.source.points);
}

TEST(ShapeFile, WritesRadiiAsShortAsTheyAre) {
  auto shape = samples::live_log();
  shape.radius[0][0] = 151.23F;
  const std::string text = shape_to_json(shape);
  EXPECT_NE(text.find("[151.23, 160, "), std::string::npos);
}

TEST(ShapeFile, HasTheKeysOfTheContractInItsOrder) {
  const json document = json::parse(shape_to_json(samples::live_log()));
  std::vector<std::string> keys;
  for (const auto& [key, value] : document.items()) keys.push_back(key);
  EXPECT_EQ(keys,
            (std::vector<std::string>{"format", "version", "source", "scan_to_log", "stations",
                                      "axis", "angles", "radius", "sigma", "seen", "bark"}));
  EXPECT_EQ(document["format"], "kerfwright-shape");
  EXPECT_EQ(document["version"], 1);
  EXPECT_EQ(document["scan_to_log"].size(), 16U);
}

TEST(ShapeFile, PutsAStationOnALine) {
  const auto shape = samples::live_log();
  const std::string text = shape_to_json(shape);
  // Four tables, three with a row of 64 numbers a line, and a line for each other key.
  EXPECT_EQ(static_cast<std::size_t>(std::count(text.begin(), text.end(), '\n')),
            4 * shape.stations.size() + 10);
}

TEST(ShapeFile, WritesTheMatrixRowByRow) {
  auto shape = samples::live_log();
  shape.scan_to_log(0, 3) = -1234.5;
  const json document = json::parse(shape_to_json(shape));
  EXPECT_EQ(document["scan_to_log"][3], -1234.5);
  EXPECT_EQ(shape_from_json(document.dump(), "x").scan_to_log, shape.scan_to_log);
}

TEST(ShapeFile, EscapesTheNameOfTheScan) {
  auto shape = samples::live_log();
  shape.source.file = "a \"log\"\n\\ \xC3\xA9.ply";
  EXPECT_EQ(shape_from_json(shape_to_json(shape), "x").source.file, shape.source.file);
  shape.source.file = "bad \xFF byte";
  EXPECT_EQ(shape_from_json(shape_to_json(shape), "x").source.file, "bad \xEF\xBF\xBD byte");
}

TEST(ShapeFile, DoesNotMindAKeyThatIsToCome) {
  EXPECT_EQ(refusal_after([](json& d) { d["marks"] = json::array(); }), "accepted");
}

/// A log with every kind of mark and bark that thins towards the top.
LogShape marked_log() {
  auto shape = samples::live_log();
  for (const double x : shape.stations) shape.bark_at_station.push_back(12.5 - x / 1000.0);
  shape.marks.pith = Pith{{1.25, -3}, {0.1, 7}};
  shape.marks.rot = {{60, 0}, {12.5, 3}};
  shape.marks.hollow = {{20, 0}};
  shape.marks.metal = {{{800, -110.37, 12}, 30}};
  shape.marks.splits = {{false, 350, {std::sin(1.0), std::cos(1.0)}, false}};
  shape.marks.knots = {{{1200, 0, 150}, {1200, 1, 2}, 45, false}};
  shape.marks.figure = {{"burl \"A\"", 400, 700, 10, 2.5, 80}};
  return shape;
}

TEST(ShapeFile, WithMarksOrBarkAtStationsIsOfVersionTwoAndComesBackByteForByte) {
  const LogShape shape = marked_log();
  const std::string text = shape_to_json(shape);
  EXPECT_EQ(json::parse(text)["version"], 2);
  const LogShape again = shape_from_json(text, "log.json");
  EXPECT_EQ(shape_to_json(again), text);
  EXPECT_EQ(again.bark_at_station, shape.bark_at_station);
  ASSERT_EQ(again.marks.splits.size(), 1U);
  EXPECT_EQ(again.marks.splits[0].direction, shape.marks.splits[0].direction);
  EXPECT_FALSE(again.marks.knots[0].sound);
  EXPECT_EQ(again.marks.figure[0].clock_to, 2.5);
  LogShape only_bark = shape;
  only_bark.marks = {};
  EXPECT_FALSE(json::parse(shape_to_json(only_bark)).contains("marks"));
}

TEST(ShapeFile, RefusesMarksThatAreNone) {
  const std::vector<std::function<void(json&)>> changes = {
      [](json& d) { d["bark_at"].erase(0); },
      [](json& d) { d["bark_at"][1] = -1; },
      [](json& d) { d["bark_at"][1] = 1e300; },
      [](json& d) { d["marks"] = json::array(); },
      [](json& d) { d["marks"]["pith"] = 3; },
      [](json& d) {
        d["marks"]["pith"]["butt"] = {1, 2, 3};
      },
      [](json& d) { d["marks"]["rot"] = 3; },
      [](json& d) { d["marks"]["rot"][0] = 3; },
      [](json& d) { d["marks"]["rot"][0].erase("radius_top"); },
      [](json& d) { d["marks"]["hollow"][0]["radius_top"] = -1; },
      [](json& d) {
        d["marks"]["metal"][0]["place"] = {1, 2};
      },
      [](json& d) {
        d["marks"]["metal"][0]["place"] = {1, 2, 1e9};
      },
      [](json& d) { d["marks"]["splits"][0]["end"] = "left"; },
      [](json& d) { d["marks"]["splits"][0]["through"] = 1; },
      [](json& d) {
        d["marks"]["splits"][0]["direction"] = {0, 0};
      },
      [](json& d) { d["marks"]["knots"][0]["sound"] = "no"; },
      [](json& d) { d["marks"]["figure"][0]["clock_to"] = 12.5; },
      [](json& d) { d["marks"]["figure"][0]["name"] = std::string(2000, 'x'); },
      [](json& d) { d["marks"]["figure"][0]["name"] = nullptr; }};
  const std::string text = shape_to_json(marked_log());
  EXPECT_EQ(refusal_of(text), "accepted");
  for (std::size_t i = 0; i < changes.size(); ++i) {
    json document = json::parse(text);
    changes[i](document);
    EXPECT_NE(refusal_of(document.dump()), "accepted") << "change " << i;
  }
}

TEST(ShapeFile, RefusesAnotherFormatOrVersion) {
  const auto text = refusal_after([](json& d) { d["format"] = "kerfwright-plan"; });
  EXPECT_EQ(
      text,
      "The file 'odd.json' cannot be used as a shape: its \"format\" is not \"kerfwright-shape\"; "
      "make it again from the scan.");
  EXPECT_NE(refusal_after([](json& d) { d["version"] = 3; }).find("version"), std::string::npos);
  EXPECT_NE(refusal_after([](json& d) { d["version"] = "1"; }).find("version"), std::string::npos);
  EXPECT_NE(refusal_after([](json& d) { d["version"] = 1.5; }).find("version"), std::string::npos);
  EXPECT_NE(refusal_of("[]").find("not a JSON object"), std::string::npos);
  EXPECT_NE(refusal_of("3").find("not a JSON object"), std::string::npos);
  EXPECT_NE(refusal_of("{}").find("format"), std::string::npos);
}

TEST(ShapeFile, NamesEveryKeyThatIsMissing) {
  for (const std::string key :
       {"source", "scan_to_log", "stations", "axis", "angles", "radius", "sigma", "seen", "bark"}) {
    const auto text = refusal_after([&](json& d) { d.erase(key); });
    EXPECT_NE(text.find("\"" + key + "\" is missing"), std::string::npos) << text;
  }
  const auto text = refusal_after([](json& d) { d["source"].erase("points"); });
  EXPECT_NE(text.find("\"source.points\" is missing"), std::string::npos) << text;
}

TEST(ShapeFile, RefusesListsOfTheWrongSize) {
  const std::vector<std::function<void(json&)>> changes = {
      [](json& d) { d["scan_to_log"].erase(0); },
      [](json& d) { d["stations"].erase(3); },
      [](json& d) { d["stations"] = json::array({0}); },
      [](json& d) { d["axis"].erase(3); },
      [](json& d) {
        d["axis"][2] = {1, 2, 3};
      },
      [](json& d) { d["angles"] = 63; },
      [](json& d) { d["angles"] = 0; },
      [](json& d) { d["angles"] = 1e9; },
      [](json& d) { d["radius"][4].erase(3); },
      [](json& d) { d["radius"].erase(3); },
      [](json& d) { d["sigma"][4].push_back(1); },
      [](json& d) { d["seen"].erase(0); },
      [](json& d) { d["seen"] = 1; },
  };
  for (const auto& change : changes) EXPECT_NE(refusal_after(change), "accepted");
}

TEST(ShapeFile, SaysWhichNumberIsNone) {
  EXPECT_NE(refusal_after([](json& d) {
              d["radius"][4][7] = "9";
            }).find("\"radius[4][7]\" is not a number"),
            std::string::npos);
  const std::vector<std::function<void(json&)>> changes = {
      [](json& d) { d["radius"][4][7] = nullptr; },
      [](json& d) { d["radius"][4][7] = -1; },
      [](json& d) { d["radius"][4][7] = 1e300; },
      [](json& d) { d["sigma"][4][7] = -0.1; },
      [](json& d) { d["seen"][4][7] = 2; },
      [](json& d) { d["seen"][4][7] = 0.5; },
      [](json& d) { d["seen"][4][7] = true; },
      [](json& d) { d["bark"] = -1; },
      [](json& d) { d["axis"][1][0] = "0"; },
      [](json& d) { d["angles"] = 63.5; },
      [](json& d) { d["stations"][0] = 1; },
      [](json& d) { d["stations"][5] = d["stations"][4]; },
      [](json& d) { d["stations"][5] = 1e9; },
      [](json& d) { d["source"]["points"] = -1; },
      [](json& d) { d["source"]["sha256"] = "xyz"; },
      [](json& d) { d["source"] = "cherry.ply"; },
  };
  for (const auto& change : changes) EXPECT_NE(refusal_after(change), "accepted");
}

TEST(ShapeFile, RefusesNumbersThatJsonDoesNotHave) {
  std::string text = shape_to_json(samples::live_log());
  const auto bark = text.rfind("8");
  for (const std::string number : {"NaN", "Infinity", "1e999", "nan", "0x10", ""}) {
    auto broken = text;
    broken.replace(bark, 1, number);
    EXPECT_NE(refusal_of(broken), "accepted") << number;
  }
}

TEST(ShapeFile, RefusesAFileThatBreaksOffAnywhere) {
  const std::string text = shape_to_json(samples::live_log());
  for (std::size_t size = 0; size + 2 < text.size(); size += 997) {
    EXPECT_NE(refusal_of(text.substr(0, size)), "accepted") << size;
  }
}

TEST(ShapeFile, RefusesDeepNestingWithoutFallingOver) {
  EXPECT_NE(refusal_of(std::string(5'000'000, '[')).find("nested too deeply"), std::string::npos);
  std::string objects;
  for (int i = 0; i < 100'000; ++i) objects += "{\"a\":";
  EXPECT_NE(refusal_of(objects).find("nested too deeply"), std::string::npos);
  // Brackets inside a text are none.
  EXPECT_EQ(refusal_after([](json& d) { d["source"]["file"] = std::string(500, '['); }),
            "accepted");
}

TEST(ShapeFile, SurvivesBytesChangedAtRandom) {
  const std::string text = shape_to_json(samples::bowed_log({300, 50, 50, 2, 0, 0}));
  std::mt19937 random(11);
  for (int round = 0; round < 60; ++round) {
    auto broken = text;
    for (int k = 0; k < 3; ++k) {
      // Mostly in the head, where the structure is.
      const std::size_t span = k == 0 ? broken.size() : 1500;
      broken[random() % span] = static_cast<char>(random() % 256);
    }
    refusal_of(broken);  // ends, one way or the other
  }
}

TEST(ShapeFile, DoesNotWriteWhatIsNoNumber) {
  auto shape = samples::live_log();
  shape.radius[0][0] = std::nanf("");
  EXPECT_THROW(shape_to_json(shape), UserError);
}

}  // namespace
}  // namespace kerfwright
