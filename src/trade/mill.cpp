#include "kerfwright/trade/mill.hpp"

#include <algorithm>
#include <functional>

#include "kerfwright/trade/inches.hpp"
#include "toml_file.hpp"
#include "words.hpp"

namespace kerfwright {
namespace {

void read_into(double& member, const TableReader& reader, std::string_view key,
               const Range& range) {
  member = find_number(reader, key, range).value_or(member);
}

std::vector<double> read_bunks(const TableReader& reader, const std::vector<double>& otherwise) {
  constexpr Range range = {0, true, 30000, true, "mm"};
  const auto bunks = find_numbers(reader, "bunks", range, 50).value_or(otherwise);
  if (bunks.size() < 2) {
    refuse(reader, line_of(reader, "bunks"),
           "'bunks' must name at least two places where the log rests.");
  }
  if (std::adjacent_find(bunks.begin(), bunks.end(), std::greater_equal<>()) != bunks.end()) {
    refuse(reader, line_of(reader, "bunks"),
           "'bunks' must grow from the butt to the top, each place further than the one before.");
  }
  return bunks;
}

bool read_scale(const TableReader& reader) {
  const std::string scale = find_text(reader, "scale", 20).value_or("mm");
  if (scale != "mm" && scale != "inch") {
    refuse(reader, line_of(reader, "scale"),
           "'scale' must be \"mm\" or \"inch\", what the height scale and the tape show, not " +
               in_quotes(scale) + ".");
  }
  return scale == "inch";
}

}  // namespace

double Mill::tape_step() const { return inches ? sixteenth_inch : 1.0; }

Mill in_inches(Mill mill) {
  mill.inches = true;
  mill.height_step = inch_step(mill.height_step);
  return mill;
}

Mill parse_mill(const std::string& toml, const std::string& name) {
  const toml::table table = parse_toml(toml, name, Fault::bad_mill);
  const TableReader reader{table, name, "a mill", Fault::bad_mill};
  allow_only(reader, {"kerf", "max_diameter", "max_log_mass", "max_cut_width", "bunks",
                      "lowest_cut", "height_step", "hourly_rate", "feed_rate", "minutes_per_cut",
                      "minutes_per_turn", "minutes_per_edging", "minutes_per_cross_cut",
                      "sawing_variation", "turn_error", "lift_error", "blade_error", "scale"});
  // Limits far outside any portable mill: they catch a slip of unit or digit, not a large machine.
  Mill mill;
  read_into(mill.kerf, reader, "kerf", {0, false, 50, true, "mm"});
  read_into(mill.max_diameter, reader, "max_diameter", {0, false, 5000, true, "mm"});
  read_into(mill.max_log_mass, reader, "max_log_mass", {0, false, 100000, true, "kg"});
  read_into(mill.max_cut_width, reader, "max_cut_width", {0, false, 5000, true, "mm"});
  mill.bunks = read_bunks(reader, mill.bunks);
  read_into(mill.lowest_cut, reader, "lowest_cut", {0, true, 2000, true, "mm"});
  read_into(mill.height_step, reader, "height_step", {0, false, 100, true, "mm"});
  read_into(mill.hourly_rate, reader, "hourly_rate", {0, true, 1e6, true, "an hour"});
  read_into(mill.feed_rate, reader, "feed_rate", {0, false, 1000, true, "m2/min"});
  read_into(mill.minutes_per_cut, reader, "minutes_per_cut", {0, true, 1440, true, "min"});
  read_into(mill.minutes_per_turn, reader, "minutes_per_turn", {0, true, 1440, true, "min"});
  read_into(mill.minutes_per_edging, reader, "minutes_per_edging", {0, true, 1440, true, "min"});
  read_into(mill.minutes_per_cross_cut, reader, "minutes_per_cross_cut",
            {0, true, 1440, true, "min"});
  read_into(mill.sawing_variation, reader, "sawing_variation", {0, true, 20, true, "mm"});
  read_into(mill.turn_error, reader, "turn_error", {0, true, most_turn_error, true, "degrees"});
  read_into(mill.lift_error, reader, "lift_error", {0, true, most_lift_error, true, "mm"});
  read_into(mill.blade_error, reader, "blade_error", {0, true, most_blade_error, true, "mm"});
  return read_scale(reader) ? in_inches(mill) : mill;
}

Mill read_mill(const std::string& path) {
  return parse_mill(read_toml_text(path, Fault::bad_mill), path);
}

}  // namespace kerfwright
