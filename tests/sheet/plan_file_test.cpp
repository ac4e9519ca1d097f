#include "kerfwright/sheet/plan_file.hpp"

#include <gtest/gtest.h>

#include <functional>
#include <nlohmann/json.hpp>
#include <random>
#include <set>

#include "kerfwright/error.hpp"
#include "kerfwright/saw/replay.hpp"
#include "samples.hpp"

namespace kerfwright {
namespace {

using json = nlohmann::ordered_json;
using Keys = std::vector<std::string>;

Keys keys_of(const json& object) {
  Keys keys;
  for (const auto& [key, value] : object.items()) keys.push_back(key);
  return keys;
}

std::string rejection(const std::string& text) {
  try {
    plan_from_json(text, "odd.json");
  } catch (const UserError& error) {
    EXPECT_EQ(error.fault(), Fault::bad_plan);
    return error.what();
  }
  return "accepted";
}

std::string rejection_after(const std::function<void(json&)>& change) {
  json document = json::parse(plan_to_json(samples::cant_plan()));
  change(document);
  return rejection(document.dump());
}

TEST(PlanFile, ComesBackByteForByte) {
  for (const auto& plan : {samples::live_plan(), samples::cant_plan(), SawPlan{}}) {
    const std::string text = plan_to_json(plan);
    EXPECT_EQ(plan_to_json(plan_from_json(text, "plan.json")), text);
  }
}

TEST(PlanFile, ComesBackWithEverythingThatMayBeLeftOut) {
  auto plan = samples::live_plan();
  plan.totals.bound = 60.5;
  plan.totals.bound_of_ways = 55.0;
  plan.totals.bound_patterns = "live, cant";
  plan.totals.bound_lift = 9.0;
  plan.totals.expected = 50.25;
  plan.totals.q10 = 40.0;
  plan.boards[0].chance = 0.875;
  plan.mill.turn_error = 1.5;
  plan.mill.lift_error = 4;
  plan.mill.blade_error = 0.5;
  plan.order.products[0].wanted = 4;
  plan.order.products[1].values.clear();
  plan.order.products[1].price_per_m3 = 820;
  const auto again = plan_from_json(plan_to_json(plan), "plan.json");
  EXPECT_EQ(again.totals.bound, 60.5);
  EXPECT_EQ(again.totals.bound_of_ways, 55.0);
  EXPECT_EQ(again.totals.bound_patterns, "live, cant");
  EXPECT_EQ(again.totals.bound_lift, 9.0);
  EXPECT_EQ(again.totals.expected, 50.25);
  EXPECT_EQ(again.totals.q10, 40.0);
  EXPECT_EQ(again.boards[0].chance, 0.875);
  EXPECT_EQ(again.boards[1].chance, std::nullopt);
  EXPECT_EQ(again.mill.turn_error, 1.5);
  EXPECT_EQ(again.mill.lift_error, 4);
  EXPECT_EQ(again.mill.blade_error, 0.5);
  EXPECT_EQ(again.order.products[0].wanted, 4);
  EXPECT_EQ(again.order.products[1].price_per_m3, 820);
  EXPECT_TRUE(again.order.products[1].values.empty());
}

TEST(PlanFile, CanBeSawnOnPaperAfterItHasBeenRead) {
  const auto sawn = [](const SawPlan& plan, const LogShape& shape) {
    return replay(plan_from_json(plan_to_json(plan), "plan.json"), shape);
  };
  for (const auto& result : {sawn(samples::live_plan(), samples::live_log()),
                             sawn(samples::cant_plan(), samples::cant_log()),
                             sawn(samples::thin_plan(16), samples::thin_log())}) {
    EXPECT_TRUE(result.complete);
    for (const std::string& sentence : result.sentences) ADD_FAILURE() << sentence;
  }
}

TEST(PlanFile, LeavesOutWhatIsNotThere) {
  const json document = json::parse(plan_to_json(samples::live_plan()));
  EXPECT_EQ(keys_of(document["totals"]),
            (Keys{"value", "net", "board_m3", "log_m3", "yield", "hours"}));
  EXPECT_FALSE(document["boards"][0].contains("grade"));
  EXPECT_FALSE(document["boards"][0].contains("chance"));
  EXPECT_FALSE(document["order"]["product"][0].contains("wanted"));
  EXPECT_FALSE(document["order"]["product"][0].contains("price_per_m3"));
}

TEST(PlanFile, HasTheKeysOfTheContractInItsOrder) {
  auto plan = samples::cant_plan();
  plan.totals.bound = plan.totals.expected = plan.totals.q10 = 1;
  const json document = json::parse(plan_to_json(plan));
  EXPECT_EQ(keys_of(document), (Keys{"format", "version", "shape_sha256", "scan_to_log", "order",
                                     "mill", "pattern", "boards", "cuts", "setups", "totals"}));
  EXPECT_EQ(keys_of(document["order"]), (Keys{"currency", "product"}));
  EXPECT_EQ(keys_of(document["order"]["product"][0]),
            (Keys{"name", "thickness", "width", "lengths", "values", "wane"}));
  EXPECT_EQ(keys_of(document["mill"]),
            (Keys{"kerf", "max_diameter", "max_log_mass", "max_cut_width", "bunks", "lowest_cut",
                  "height_step", "hourly_rate", "feed_rate", "minutes_per_cut", "minutes_per_turn",
                  "minutes_per_edging", "minutes_per_cross_cut", "sawing_variation", "turn_error",
                  "lift_error", "blade_error"}));
  EXPECT_EQ(keys_of(document["boards"][0]),
            (Keys{"id", "product", "thickness", "width", "length", "value", "piece", "corner",
                  "along", "across", "up"}));
  EXPECT_EQ(keys_of(document["cuts"][0]),
            (Keys{"n", "setup", "piece", "point", "normal", "kerf", "above", "below"}));
  EXPECT_EQ(keys_of(document["setups"][0]), (Keys{"n", "roll", "lift_butt", "lift_top", "kind"}));
  EXPECT_EQ(keys_of(document["totals"]), (Keys{"value", "net", "bound", "expected", "q10",
                                               "board_m3", "log_m3", "yield", "hours"}));
}

TEST(PlanFile, WritesEveryKeyOfAnOrderBackAsItWasRead) {
  auto plan = samples::cant_plan();
  plan.order.species = "cherry";
  Product& product = plan.order.products.front();
  product.wane = {0.2, 0.1, 0.3};
  product.wanted = 9;
  product.beyond = 0.25;
  product.finished = Finished{25, 100, 8, 2.5, 0.1, ShrinkageBy::mean};
  product.grades = Grades{1.0, 0.8, std::nullopt, 0.33};
  product.grain = Grain{1.3, 1.1, 0.9, 35, 55};
  product.figure = {{"burl", 2.5}, {"curl", 1.5}};
  product.blank = true;
  Product& slab = plan.order.products.back();
  slab.live_edge = true;
  slab.values.clear();
  slab.price_per_m2 = 120;
  plan.boards.front().grade = "sound_knots";
  const std::string text = plan_to_json(plan);
  EXPECT_EQ(plan_to_json(plan_from_json(text, "plan.json")), text);
  const json document = json::parse(text);
  EXPECT_EQ(keys_of(document["order"]["product"][0]),
            (Keys{"name", "thickness", "width", "lengths", "values", "wane", "wanted", "beyond",
                  "finished", "grades", "grain", "figure", "blank"}));
  EXPECT_EQ(document["boards"][0]["grade"], "sound_knots");
  EXPECT_FALSE(document["boards"][1].contains("grade"));
}

TEST(PlanFile, PutsABoardACutAndASetupOnALine) {
  const auto plan = samples::cant_plan();
  const std::string text = plan_to_json(plan);
  for (const std::string start : {"\n  {\"id\": ", "\n  {\"n\": "}) {
    std::size_t found = 0;
    for (auto at = text.find(start); at != std::string::npos; at = text.find(start, at + 1))
      ++found;
    EXPECT_EQ(found, start.find("id") != std::string::npos ? plan.boards.size()
                                                           : plan.cuts.size() + plan.setups.size());
  }
}

TEST(PlanFile, NamesTheKindsOfSetup) {
  const json document = json::parse(plan_to_json(samples::cant_plan()));
  Keys kinds;
  for (const auto& setup : document["setups"]) kinds.push_back(setup["kind"]);
  EXPECT_EQ(kinds, (Keys{"log", "log", "cant", "edging", "cross-cut", "edging", "cross-cut"}));
}

TEST(PlanFile, AcceptsWhatIsToCome) {
  EXPECT_EQ(rejection_after([](json& d) {
              d["boards"][0]["grade"] = "clear";
              d["boards"][0]["chance"] = 0.9;
              d["totals"]["bound"] = 103.0;
              d["setups"][0]["skew"] = 1.5;
              d["setups"][0].erase("kind");
              d["anything"] = {{"else", 1}};
            }),
            "accepted");
}

TEST(PlanFile, RefusesAnotherFormatOrVersion) {
  EXPECT_EQ(
      rejection_after([](json& d) { d["version"] = 7; }),
      "The file 'odd.json' cannot be used as a plan: its \"version\" is not 1, the only one that "
      "this program knows; plan the log again.");
  EXPECT_NE(rejection_after([](json& d) { d["format"] = "kerfwright-shape"; }), "accepted");
  EXPECT_NE(rejection("{\"format\": \"kerfwright-plan\"}"), "accepted");
  EXPECT_NE(rejection(""), "accepted");
  EXPECT_NE(rejection("null"), "accepted");
}

TEST(PlanFile, NamesEveryKeyThatIsMissing) {
  const json whole = json::parse(plan_to_json(samples::cant_plan()));
  const auto expect_missing = [](json document, const std::string& place) {
    const auto text = rejection(document.dump());
    EXPECT_NE(text.find("\"" + place + "\" is missing"), std::string::npos)
        << place << ": " << text;
  };
  for (const auto& [key, value] : whole.items()) {
    if (key == "format" || key == "version") continue;
    auto document = whole;
    document.erase(key);
    expect_missing(document, key);
  }
  // The first plans did not have these.
  const std::set<std::string> later = {"minutes_per_edging", "minutes_per_cross_cut",
                                       "sawing_variation",   "turn_error",
                                       "lift_error",         "blade_error"};
  for (const std::string object : {"order", "mill", "totals"}) {
    for (const auto& [key, value] : whole[object].items()) {
      if (later.contains(key)) continue;
      auto document = whole;
      document[object].erase(key);
      expect_missing(document, object + "." + key);
    }
  }
  for (const std::string list : {"boards", "cuts", "setups"}) {
    for (const auto& [key, value] : whole[list][1].items()) {
      if (key == "kind") continue;
      auto document = whole;
      document[list][1].erase(key);
      expect_missing(document, list + "[1]." + key);
    }
  }
}

TEST(PlanFile, RefusesWhatIsNoMeasure) {
  const std::vector<std::function<void(json&)>> changes = {
      [](json& d) { d["boards"][0]["width"] = 0; },
      [](json& d) { d["boards"][0]["width"] = -5; },
      [](json& d) { d["boards"][0]["width"] = "wide"; },
      [](json& d) { d["boards"][0]["length"] = 1e300; },
      [](json& d) {
        d["boards"][0]["corner"] = {1, 2};
      },
      [](json& d) { d["boards"][0]["corner"][1] = nullptr; },
      [](json& d) {
        d["boards"][0]["along"] = {2, 0, 0};
      },
      [](json& d) {
        d["boards"][0]["along"] = {0, 0, 0};
      },
      [](json& d) { d["boards"][0]["across"] = d["boards"][0]["along"]; },
      [](json& d) { std::swap(d["boards"][0]["across"], d["boards"][0]["up"]); },
      [](json& d) { d["boards"][1]["id"] = d["boards"][0]["id"]; },
      [](json& d) { d["boards"][1]["id"] = 1.5; },
      [](json& d) { d["boards"][1]["piece"] = 4; },
      [](json& d) { d["boards"] = json::object(); },
      [](json& d) {
        d["cuts"][0]["normal"] = {0, 0, 0};
      },
      [](json& d) { d["cuts"][0]["kerf"] = -1; },
      [](json& d) { d["cuts"][3]["n"] = 1; },
      [](json& d) { d["cuts"][3]["setup"] = 17; },
      [](json& d) { d["setups"][1]["n"] = 1; },
      [](json& d) { d["setups"][1]["kind"] = "sideways"; },
      [](json& d) { d["setups"][1]["roll"] = "20"; },
      [](json& d) { d["scan_to_log"] = json::array(); },
      [](json& d) { d["shape_sha256"] = "not hexadecimal"; },
      [](json& d) { d["pattern"] = 1; },
      [](json& d) { d["order"]["product"][0]["lengths"] = json::array(); },
      [](json& d) { d["order"]["product"][0]["values"] = {1}; },
      [](json& d) { d["order"]["product"][0]["wane"] = 0.7; },
      [](json& d) { d["order"]["product"][0]["wanted"] = -1; },
      [](json& d) { d["mill"]["kerf"] = -6; },
      [](json& d) { d["mill"]["bunks"] = 400; },
      [](json& d) { d["totals"]["value"] = nullptr; },
      [](json& d) { d["totals"]["bound"] = "high"; },
      [](json& d) { d["order"]["currency"] = std::string(5000, 'E'); },
  };
  for (std::size_t i = 0; i < changes.size(); ++i) {
    EXPECT_NE(rejection_after(changes[i]), "accepted") << "change " << i;
  }
}

TEST(PlanFile, RefusesAFileThatBreaksOffAnywhere) {
  const std::string text = plan_to_json(samples::live_plan());
  for (std::size_t size = 0; size + 2 < text.size(); size += 37) {
    EXPECT_NE(rejection(text.substr(0, size)), "accepted") << size;
  }
}

TEST(PlanFile, RefusesDeepNestingWithoutFallingOver) {
  EXPECT_NE(rejection(std::string(5'000'000, '[')).find("nested too deeply"), std::string::npos);
}

TEST(PlanFile, SurvivesBytesChangedAtRandom) {
  const std::string text = plan_to_json(samples::cant_plan());
  std::mt19937 random(5);
  for (int round = 0; round < 2000; ++round) {
    auto broken = text;
    for (int k = 0; k < 3; ++k)
      broken[random() % broken.size()] = static_cast<char>(random() % 256);
    rejection(broken);
  }
}

}  // namespace
}  // namespace kerfwright
