#include "product_keys.hpp"

#include <algorithm>

#include "kerfwright/trade/inches.hpp"
#include "words.hpp"

namespace kerfwright {
namespace {

// Limits far outside any order, so that a slip (a unit, a digit) is told and nothing runs for
// hours.
constexpr std::size_t most_lengths = 200;
constexpr std::size_t most_figures = 50;
constexpr std::int64_t most_wanted = 1'000'000;
constexpr Range size_range = {0, false, 5000, true, "mm"};
constexpr Range length_range = {0, false, 30000, true, "mm"};
constexpr double least_thickness =
    3;  // mm; less comes from a slip: inches or metres without a unit
constexpr double least_width = 10;
constexpr double least_length = 50;
constexpr Range money_range = {0, false, 1e9, true, ""};
constexpr Range wane_range = {0, true, 0.5, false, ""};
constexpr Range share_range = {0, true, 1, true, ""};
constexpr Range factor_range = {0, true, 1000, true, "times the value"};
constexpr Range angle_range = {0, true, 90, true, "degrees"};

/// Inches and metres without their unit would be planned as splinters, for hours.
void refuse_splinter(const TableReader& reader, std::string_view key, double mm, double least) {
  if (mm >= least) return;
  const std::string number = number_text(mm);
  refuse(reader, line_of(reader, key),
         in_quotes(key) + " must be at least " + number_text(least) + " mm, not " + number +
             " mm; a number alone is mm, so write \"" + number + " in\" or \"" + number +
             " m\" where that is meant.");
}

double find_size(const TableReader& reader, std::string_view key, double least) {
  const double mm = need(reader, key, find_number(reader, key, size_range));
  refuse_splinter(reader, key, mm, least);
  return mm;
}

void refuse_twice_the_same(const TableReader& reader, std::vector<double> lengths) {
  std::sort(lengths.begin(), lengths.end());
  const auto twice = std::adjacent_find(lengths.begin(), lengths.end());
  if (twice != lengths.end()) {
    refuse(reader, line_of(reader, "lengths"),
           "'lengths' holds " + number_text(*twice) + " twice; give each length once.");
  }
}

void read_prices(const TableReader& reader, Product& product) {
  product.values =
      find_numbers(reader, "values", money_range, most_lengths).value_or(std::vector<double>());
  product.price_per_m3 = find_number(reader, "price_per_m3", money_range);
  product.price_per_m2 = find_number(reader, "price_per_m2", money_range);
  const std::string needs = "the product '" + product.name +
                            "' needs either 'values' or 'price_per_m3' or 'price_per_m2', ";
  const int given = static_cast<int>(!product.values.empty()) +
                    static_cast<int>(product.price_per_m3.has_value()) +
                    static_cast<int>(product.price_per_m2.has_value());
  if (given == 0) refuse(reader, line_of(reader), needs + "and has none.");
  if (given > 1) {
    refuse(reader, line_of(reader, product.price_per_m3 ? "price_per_m3" : "price_per_m2"),
           needs + "only one of them.");
  }
  if (!product.values.empty() && product.values.size() != product.lengths.size()) {
    refuse(reader, line_of(reader, "values"),
           "'values' holds " + std::to_string(product.values.size()) + " numbers and 'lengths' " +
               std::to_string(product.lengths.size()) + "; give one value for each length.");
  }
}

bool has(const TableReader& reader, std::string_view key) {
  return reader.table.get(key) != nullptr;
}

Finished read_finished(const TableReader& reader) {
  allow_only(reader, {"thickness", "width", "moisture", "planing", "undersize", "shrinkage"});
  Finished finished;
  finished.thickness = find_size(reader, "thickness", least_thickness);
  finished.width = find_size(reader, "width", least_width);
  finished.moisture =
      find_number(reader, "moisture", {0, true, 200, true, "%"}).value_or(finished.moisture);
  finished.planing =
      find_number(reader, "planing", {0, true, 100, true, "mm"}).value_or(finished.planing);
  finished.undersize =
      find_number(reader, "undersize", {0, true, 0.5, true, ""}).value_or(finished.undersize);
  const std::string by = find_text(reader, "shrinkage", 20).value_or("worst");
  if (by != "worst" && by != "mean") {
    refuse(reader, line_of(reader, "shrinkage"),
           "'shrinkage' must be \"worst\" (tangential) or \"mean\" (of radial and tangential), "
           "not " +
               in_quotes(by) + ".");
  }
  finished.shrinkage = by == "mean" ? ShrinkageBy::mean : ShrinkageBy::worst;
  return finished;
}

/// A size by its trade name, which stands for the size to saw.
bool read_nominal(const TableReader& reader, Product& product) {
  const auto text = find_text(reader, "nominal", 40);
  if (!text) return false;
  for (const char* key : {"thickness", "width", "min_width", "live_edge", "finished"}) {
    if (!has(reader, key)) continue;
    refuse(reader, line_of(reader, key),
           "the product '" + product.name + "' gives 'nominal' and '" + key +
               "'; 'nominal' says the whole size, so give one or the other.");
  }
  const auto size = nominal_size(*text);
  if (!size) {
    refuse(reader, line_of(reader, "nominal"),
           "'nominal' must be a size of softwood lumber in inches, the thickness first, such as "
           "\"2x4\", not " +
               in_quotes(*text) +
               "; thicknesses are 1, 1 1/4, 1 1/2, 2, 2 1/2, 3, 3 1/2 and 4, widths 2 to 6, 8, 10, "
               "12, 14 and 16, and timbers 5x5 and more.");
  }
  product.thickness = size->thickness;
  product.width = size->width;
  return true;
}

/// As sawn, nominal, finished, or a slab of at least some width: one of the four.
void read_size(const TableReader& reader, Product& product) {
  if (read_nominal(reader, product)) return;
  const auto table = find_table(reader, "finished", "a finished size");
  if (table) {
    for (const char* key : {"thickness", "width", "min_width", "live_edge"}) {
      if (!has(reader, key)) continue;
      refuse(reader, line_of(reader, key),
             "the product '" + product.name + "' gives 'finished' sizes and '" + key +
                 "'; give sizes either as sawn or finished, not both.");
    }
    product.finished = read_finished(*table);
    return;
  }
  product.thickness = find_size(reader, "thickness", least_thickness);
  product.live_edge = find_flag(reader, "live_edge").value_or(false);
  const std::string_view key = product.live_edge ? "min_width" : "width";
  const std::string_view other = product.live_edge ? "width" : "min_width";
  if (has(reader, other)) {
    refuse(reader, line_of(reader, other),
           product.live_edge
               ? "a slab with live edges has no width of its own; give 'min_width', the least "
                 "width that it may have at any place."
               : "'min_width' is for slabs with live edges; write live_edge = true, or 'width'.");
  }
  product.width = find_size(reader, key, least_width);
}

Wane read_wane(const TableReader& reader) {
  const toml::node* node = reader.table.get("wane");
  if (node == nullptr || !node->is_table()) {
    return {find_number(reader, "wane", wane_range).value_or(0.0)};
  }
  const TableReader table = *find_table(reader, "wane", "wane");
  allow_only(table, {"thickness", "width", "length"});
  return {find_number(table, "thickness", wane_range).value_or(0.0),
          find_number(table, "width", wane_range).value_or(0.0),
          find_number(table, "length", share_range).value_or(1.0)};
}

Grades read_grades(const TableReader& reader) {
  allow_only(reader, {"clear", "sound_knots", "pith", "largest_knot"});
  Grades grades;
  grades.clear = find_number(reader, "clear", factor_range);
  grades.sound_knots = find_number(reader, "sound_knots", factor_range);
  grades.pith = find_number(reader, "pith", factor_range);
  grades.largest_knot =
      find_number(reader, "largest_knot", share_range).value_or(grades.largest_knot);
  if (!grades.clear && !grades.sound_knots && !grades.pith) {
    refuse(reader, line_of(reader),
           "'grades' names no grade that is sold; write for example { clear = 1, sound_knots = "
           "0.7, pith = 0.5 }.");
  }
  return grades;
}

Grain read_grain(const TableReader& reader) {
  allow_only(reader, {"standing", "rift", "lying", "rift_from", "standing_from"});
  Grain grain;
  grain.standing = find_number(reader, "standing", factor_range).value_or(grain.standing);
  grain.rift = find_number(reader, "rift", factor_range).value_or(grain.rift);
  grain.lying = find_number(reader, "lying", factor_range).value_or(grain.lying);
  grain.rift_from = find_number(reader, "rift_from", angle_range).value_or(grain.rift_from);
  grain.standing_from =
      find_number(reader, "standing_from", angle_range).value_or(grain.standing_from);
  if (grain.rift_from > grain.standing_from) {
    refuse(reader, line_of(reader, has(reader, "rift_from") ? "rift_from" : "standing_from"),
           "'rift_from' must not be more than 'standing_from'.");
  }
  return grain;
}

std::vector<std::pair<std::string, double>> read_figure(const TableReader& reader) {
  std::vector<std::pair<std::string, double>> figure;
  for (const auto& [key, node] : reader.table) {
    figure.emplace_back(std::string(key.str()), *find_number(reader, key.str(), factor_range));
  }
  if (figure.size() > most_figures) {
    refuse(reader, line_of(reader),
           "'figure' must hold at most " + std::to_string(most_figures) + " names.");
  }
  return figure;
}

/// Whether the pith must run inside the piece, or may not be in it.
void read_heart(const TableReader& reader, Product& product) {
  const auto heart = find_text(reader, "heart", 20);
  if (!heart) return;
  if (*heart != "boxed" && *heart != "free") {
    refuse(reader, line_of(reader, "heart"),
           "'heart' must be \"boxed\" (the pith runs inside the piece) or \"free\" (without the "
           "pith), not " +
               in_quotes(*heart) + ".");
  }
  product.boxed_heart = *heart == "boxed";
  if (product.boxed_heart && product.grades && !product.grades->pith) {
    refuse(reader, line_of(reader, "heart"),
           "the product '" + product.name +
               "' boxes the heart, but its 'grades' sell no piece with pith; add a factor for "
               "'pith'.");
  }
  if (product.boxed_heart) return;
  if (!product.grades) product.grades = Grades{1.0, 1.0, {}, 1.0};
  product.grades->pith.reset();
}

/// What a piece's value is multiplied by.
void read_factors(const TableReader& reader, Product& product) {
  product.beyond = find_number(reader, "beyond", share_range).value_or(0.0);
  if (has(reader, "beyond") && !product.wanted) {
    refuse(reader, line_of(reader, "beyond"),
           "'beyond' says what a piece beyond 'wanted' fetches; give 'wanted' too.");
  }
  if (const auto table = find_table(reader, "grades", "'grades'")) {
    product.grades = read_grades(*table);
  }
  if (const auto table = find_table(reader, "grain", "'grain'")) product.grain = read_grain(*table);
  if (const auto table = find_table(reader, "figure", "'figure'")) {
    product.figure = read_figure(*table);
  }
}

}  // namespace

Product read_product(const TableReader& reader) {
  allow_only(reader, {"name", "nominal", "thickness", "width", "min_width", "lengths", "values",
                      "price_per_m3", "price_per_m2", "wane", "wanted", "beyond", "finished",
                      "grades", "grain", "figure", "live_edge", "blank", "heart"});
  Product product;
  product.name = need(reader, "name", find_text(reader, "name", 100));
  read_size(reader, product);
  product.lengths =
      need(reader, "lengths", find_numbers(reader, "lengths", length_range, most_lengths));
  for (const double mm : product.lengths) refuse_splinter(reader, "lengths", mm, least_length);
  product.blank = find_flag(reader, "blank").value_or(false);
  product.wane = read_wane(reader);
  if (const auto wanted = find_count(reader, "wanted", most_wanted)) {
    product.wanted = static_cast<int>(*wanted);
  }
  refuse_twice_the_same(reader, product.lengths);
  read_prices(reader, product);
  if (product.live_edge && !product.values.empty()) {
    refuse(reader, line_of(reader, "values"),
           "a slab with live edges is paid by its mean width; give 'price_per_m3' or "
           "'price_per_m2'.");
  }
  if (product.live_edge && product.blank) {
    refuse(reader, line_of(reader, "blank"), "a blank has no live edges; give one or the other.");
  }
  read_factors(reader, product);
  read_heart(reader, product);
  return product;
}

}  // namespace kerfwright
