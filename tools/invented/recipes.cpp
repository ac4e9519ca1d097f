#include "invented/recipes.hpp"

#include <cmath>
#include <numbers>

#include "invented/dice.hpp"
#include "kerfwright/error.hpp"

namespace kerfwright {
namespace {

constexpr double kTurn = 2.0 * std::numbers::pi;
constexpr double degrees(double d) { return d * std::numbers::pi / 180.0; }

double draw(Dice& dice, const Range& range) { return dice.uniform(range.low, range.high); }
int draw_count(Dice& dice, const Range& range) {
  return static_cast<int>(std::floor(draw(dice, range) + 0.5));
}

std::vector<Wave> draw_waves(Dice& dice, double amplitude) {
  std::vector<Wave> waves;
  for (int i = 0; i < 6; ++i)
    waves.push_back({amplitude, dice.uniform(0.5, 4.0), 1 + i % 4, dice.uniform(0, kTurn)});
  return waves;
}

Burl draw_burl(Dice& dice, const InventedLog& log, const Range& height) {
  const double mean = 0.5 * (log.butt_radius + log.top_radius);
  const double reach = mean * dice.uniform(0.5, 1.1);
  return {dice.uniform(0.1, 0.9) * log.length, dice.uniform(0, kTurn), draw(dice, height) * mean,
          reach, reach * dice.uniform(0.6, 1.0)};
}

Stub draw_stub(Dice& dice, const InventedLog& log) {
  return {dice.uniform(0.08, 0.95) * log.length, dice.uniform(0, kTurn), dice.uniform(10, 35),
          dice.uniform(14, 32)};
}

void draw_butt(Dice& dice, const LogRanges& ranges, InventedLog& log) {
  log.flare = draw(dice, ranges.flare) * log.butt_radius;
  log.flare_reach = log.butt_radius * dice.uniform(0.8, 1.6);
  log.flutes = draw_count(dice, ranges.flutes);
  if (log.flutes < 3) log.flutes = 0;
  log.flute_depth = draw(dice, ranges.flute_depth);
  log.flute_reach = log.butt_radius * dice.uniform(3.0, 7.0);
  log.flute_phase = dice.uniform(0, kTurn);
}

InventedLog crooked_cherry() {
  InventedLog log;
  log.length = 2600;
  log.butt_radius = 149;
  log.top_radius = 131;
  log.flare = 10;
  log.flare_reach = 180;
  log.sweep = 66;
  log.sweep_direction = degrees(24);
  log.crook = 27;
  log.crook_direction = degrees(115);
  log.ovality = 0.06;
  log.ovality_direction = degrees(70);
  log.stubs = {
      {640, degrees(62), 28, 26}, {1480, degrees(168), 22, 20}, {2110, degrees(20), 32, 22}};
  log.bark = 5;
  return log;
}

InventedLog burled_walnut() {
  InventedLog log;
  log.length = 2200;
  log.butt_radius = 186;
  log.top_radius = 168;
  log.flare = 12;
  log.flare_reach = 220;
  log.sweep = 24;
  log.sweep_direction = degrees(200);
  log.ovality = 0.05;
  log.ovality_direction = degrees(15);
  log.burls = {{560, degrees(40), 95, 150, 115},
               {1180, degrees(150), 62, 110, 90},
               {1260, degrees(338), 84, 190, 120},
               {1790, degrees(95), 45, 90, 75}};
  log.stubs = {{900, degrees(100), 25, 30}};
  log.bark = 9;
  return log;
}

InventedLog straight_larch() {
  InventedLog log;
  log.length = 4000;
  log.butt_radius = 160;
  log.top_radius = 140;
  log.flare = 6;
  log.flare_reach = 200;
  log.sweep = 9;
  log.sweep_direction = degrees(310);
  log.ovality = 0.025;
  log.ovality_direction = degrees(120);
  log.stubs = {{1210, degrees(15), 12, 14},
               {1900, degrees(130), 10, 13},
               {2520, degrees(75), 14, 15},
               {3080, degrees(190), 10, 14},
               {3560, degrees(50), 12, 12}};
  log.bark = 11;
  return log;
}

InventedLog short_plum() {
  InventedLog log;
  log.length = 900;
  log.butt_radius = 105;
  log.top_radius = 96;
  log.flare = 5;
  log.flare_reach = 90;
  log.sweep = 15;
  log.sweep_direction = degrees(80);
  log.crook = 7;
  log.crook_direction = degrees(10);
  log.ovality = 0.08;
  log.ovality_direction = degrees(35);
  log.flutes = 3;
  log.flute_depth = 0.07;
  log.flute_reach = 600;
  log.flute_phase = degrees(50);
  log.stubs = {{410, degrees(130), 20, 18}};
  log.bark = 4;
  return log;
}

InventedLog fluted_oak() {
  InventedLog log;
  log.length = 3000;
  log.butt_radius = 219;
  log.top_radius = 200;
  log.flare = 34;
  log.flare_reach = 320;
  log.sweep = 32;
  log.sweep_direction = degrees(345);
  log.crook = 8;
  log.crook_direction = degrees(60);
  log.ovality = 0.04;
  log.ovality_direction = degrees(100);
  log.flutes = 5;
  log.flute_depth = 0.24;
  log.flute_reach = 850;
  log.flute_phase = degrees(20);
  log.stubs = {{2240, degrees(120), 30, 34}};
  log.bark = 14;
  return log;
}

struct Recipe {
  const char* name;
  InventedLog (*make)();
  double waviness;  // mm
};

constexpr Recipe kRecipes[] = {{"crooked-cherry", crooked_cherry, 1.2},
                               {"burled-walnut", burled_walnut, 1.5},
                               {"straight-larch", straight_larch, 0.7},
                               {"short-plum", short_plum, 0.8},
                               {"fluted-oak", fluted_oak, 1.5}};

}  // namespace

InventedLog random_log(std::uint64_t seed, const LogRanges& ranges) {
  Dice dice(seed);
  InventedLog log;
  log.name = "random-" + std::to_string(seed);
  log.length = draw(dice, ranges.length);
  const double metres = log.length / 1000.0;
  const double mean = draw(dice, ranges.diameter) / 2.0;
  const double fall =
      draw(dice, ranges.taper) * metres / 4.0;  // of radius, from the mean to an end
  log.butt_radius = mean + fall;
  log.top_radius = mean - fall;
  log.sweep = draw(dice, ranges.sweep) * metres;
  log.sweep_direction = dice.uniform(0, kTurn);
  log.crook = draw(dice, ranges.crook) * metres;
  log.crook_direction = dice.uniform(0, kTurn);
  log.ovality = draw(dice, ranges.ovality);
  log.ovality_direction = dice.uniform(0, kTurn);
  draw_butt(dice, ranges, log);
  for (int n = draw_count(dice, ranges.burls); n > 0; --n)
    log.burls.push_back(draw_burl(dice, log, ranges.burl_height));
  for (int n = draw_count(dice, ranges.stubs); n > 0; --n)
    log.stubs.push_back(draw_stub(dice, log));
  log.bark = draw(dice, ranges.bark);
  log.waves = draw_waves(dice, draw(dice, ranges.waviness));
  return log;
}

std::vector<std::string> recipe_names() {
  std::vector<std::string> names;
  for (const Recipe& known : kRecipes) names.emplace_back(known.name);
  return names;
}

InventedLog recipe(const std::string& name) {
  std::string all;
  for (const Recipe& known : kRecipes) {
    if (name == known.name) {
      InventedLog log = known.make();
      log.name = name;
      Dice dice(name.size() + 1000);
      log.waves = draw_waves(dice, known.waviness);
      return log;
    }
    all += std::string(all.empty() ? "" : ", ") + known.name;
  }
  throw UserError(Fault::usage, "There is no recipe \"" + name + "\"; choose one of " + all + ".");
}

const char* const mixed_order = R"(
[[product]]
name = "joist"
thickness = 50
width = 150
lengths = [1200, 1800, 2400]
price_per_m3 = 620
[[product]]
name = "plank"
thickness = 32
width = 200
lengths = [900, 1200, 1800, 2400]
price_per_m3 = 780
[[product]]
name = "board"
thickness = 25
width = 120
lengths = [600, 900, 1200, 1800]
price_per_m3 = 560
[[product]]
name = "beam"
thickness = 100
width = 100
lengths = [1200, 1800, 2400]
price_per_m3 = 500
[[product]]
name = "batten"
thickness = 25
width = 60
lengths = [600, 1200]
price_per_m3 = 320
)";

}  // namespace kerfwright
