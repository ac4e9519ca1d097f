#include "invented/woodlot.hpp"

#include <cmath>

#include "invented/recipes.hpp"
#include "kerfwright/error.hpp"

namespace kerfwright {
namespace {

/// A product of a list: `wanted` for thirty logs, 0 = as many as come. Sizes and prices are
/// invented.
struct Wish {
  const char* name;
  double thickness, width;
  const char* lengths;
  double price;  // per m3
  int wanted;
  double wane;
};

const std::vector<Wish> framing = {{"stud", 48, 98, "[2450]", 380, 90, 0.15},
                                   {"short stud", 48, 98, "[1200]", 340, 24, 0.15},
                                   {"noggin", 48, 98, "[600]", 300, 50, 0.15},
                                   {"plate", 48, 98, "[3600]", 390, 14, 0.1},
                                   {"sill", 48, 123, "[3600]", 410, 8, 0.1},
                                   {"blocking", 48, 148, "[900]", 330, 24, 0.15},
                                   {"rafter", 48, 148, "[4600]", 440, 16, 0.1},
                                   {"joist", 48, 173, "[3600]", 440, 12, 0.1},
                                   {"long joist", 48, 198, "[4000]", 470, 12, 0.1},
                                   {"string", 48, 248, "[3000]", 520, 2, 0.0},
                                   {"tie", 38, 123, "[3000]", 400, 10, 0.1},
                                   {"tread", 38, 248, "[900]", 480, 12, 0.0},
                                   {"door post", 75, 123, "[2150]", 430, 10, 0.1},
                                   {"post", 123, 123, "[2400]", 450, 8, 0.15},
                                   {"beam", 98, 198, "[4200]", 490, 3, 0.15},
                                   {"batten", 28, 48, "[3600]", 320, 50, 0.1},
                                   {"lath", 24, 48, "[1800, 2400, 3000]", 300, 50, 0.1},
                                   {"cladding", 22, 125, "[2400, 3000, 3600]", 420, 60, 0.0},
                                   {"fascia", 22, 173, "[3600]", 450, 8, 0.0},
                                   {"floor board", 28, 148, "[2000, 3000, 4000]", 450, 40, 0.0}};

const std::vector<Wish> sleepers = {{"sleeper", 150, 250, "[2600]", 420, 30, 0.15},
                                    {"small sleeper", 120, 200, "[1200, 2600]", 360, 30, 0.15},
                                    {"board", 27, 150, "[1300, 2600]", 300, 0, 0.1},
                                    {"narrow board", 27, 100, "[1300, 2600]", 240, 0, 0.1}};

const std::vector<Wish> mixed = {{"table plank", 52, 200, "[1200, 1800, 2400]", 900, 24, 0.0},
                                 {"bench plank", 52, 160, "[1200, 1800]", 650, 30, 0.0},
                                 {"joist", 50, 150, "[2400, 3000]", 440, 40, 0.1},
                                 {"post", 100, 100, "[2000]", 420, 24, 0.15},
                                 {"rail", 38, 90, "[2400]", 360, 60, 0.1},
                                 {"shelf", 27, 220, "[900, 1200]", 600, 30, 0.0},
                                 {"board", 27, 140, "[900, 1200, 1800, 2400]", 420, 0, 0.0},
                                 {"narrow board", 27, 90, "[900, 1200, 1800]", 300, 0, 0.0}};

// A portable band mill with two people (invented; such a blade takes about 2.5 mm, common
// practice).
const char* const band_mill =
    "kerf = 2.5\nmax_diameter = 660\nmax_log_mass = 900\nmax_cut_width = 560\nhourly_rate = 32\n"
    "feed_rate = 0.6\nminutes_per_cut = 0.7\nminutes_per_turn = 3.0\n";

const std::vector<Wish>& wishes_of(const std::string& kind) {
  if (kind == "framing") return framing;
  if (kind == "sleepers") return sleepers;
  if (kind == "mixed") return mixed;
  throw UserError(Fault::usage,
                  "There is no woodlot '" + kind + "'; choose framing, sleepers or mixed.");
}

LogRanges ranges_of(const std::string& kind) {
  LogRanges ranges;
  ranges.sweep = {0, 14};
  ranges.crook = {0, 5};
  ranges.flutes = {0, 3};
  ranges.burls = {0, 1};
  ranges.length = {2500, 5200};
  ranges.diameter = {200, 420};
  if (kind == "sleepers") {
    ranges.length = {2700, 3200};
    ranges.diameter = {280, 480};
  }
  if (kind == "mixed") {
    ranges.length = {1800, 3800};
    ranges.diameter = {220, 450};
    ranges.sweep = {0, 30};
  }
  return ranges;
}

std::string number(double value) {
  std::string text = std::to_string(value);
  text.erase(text.find_last_not_of('0') + 1);
  return text.back() == '.' ? text + "0" : text;
}

std::string product_of(const Wish& wish, double share_of_thirty) {
  std::string text = "\n[[product]]\nname = \"" + std::string(wish.name) +
                     "\"\nthickness = " + number(wish.thickness) +
                     "\nwidth = " + number(wish.width) + "\nlengths = " + wish.lengths +
                     "\nprice_per_m3 = " + number(wish.price) + "\nwane = " + number(wish.wane) +
                     "\n";
  if (wish.wanted == 0) return text;
  const long wanted = std::max(1L, std::lround(wish.wanted * share_of_thirty));
  return text + "wanted = " + std::to_string(wanted) + "\n";
}

}  // namespace

std::vector<std::string> woodlot_kinds() { return {"framing", "sleepers", "mixed"}; }

Woodlot woodlot(const std::string& kind, int logs, std::uint64_t seed, double share) {
  Woodlot lot;
  for (const Wish& wish : wishes_of(kind)) lot.order += product_of(wish, share * logs / 30.0);
  lot.mill = band_mill;
  for (int i = 0; i < logs; ++i) {
    lot.logs.push_back(
        random_log(1000 * seed + static_cast<std::uint64_t>(i) + 1, ranges_of(kind)));
  }
  return lot;
}

}  // namespace kerfwright
