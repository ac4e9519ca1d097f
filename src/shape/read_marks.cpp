#include "kerfwright/shape/read_marks.hpp"

#include <algorithm>
#include <cmath>

#include "kerfwright/shape/mark_geometry.hpp"
#include "kerfwright/shape/section.hpp"
#include "trade/toml_file.hpp"
#include "trade/words.hpp"

namespace kerfwright {
namespace {

constexpr std::size_t most_of_a_kind = 500;
// Far beyond any log: they catch a slip of unit or digit before the log itself is asked.
constexpr Range mm = {0, true, 30000, true, "mm"};
constexpr Range some_mm = {0, false, 30000, true, "mm"};
constexpr Range clock_range = {0, true, 13, false, "hours"};

/// Half past twelve is 12.5 to a person and 0.5 to arithmetic.
double on_the_dial(double clock) { return clock > 12.0 ? clock - 12.0 : clock; }

std::string whole(double value) { return number_text(std::round(value)); }

template <class Vector>
Vector rounded(const Vector& place) {
  return (place * 100.0).array().round() / 100.0;
}

/// One table of the file, and the log it speaks of.
struct MarkReader {
  TableReader toml;
  const LogShape& shape;

  double number(std::string_view key, const Range& range) const {
    return need(toml, key, find_number(toml, key, range));
  }

  [[noreturn]] void reject(std::string_view key, const std::string& sentence) const {
    refuse(toml, line_of(toml, key), sentence);
  }

  /// mm from the butt, within the log.
  double along(std::string_view key, double value) const {
    if (value > shape.length()) {
      reject(key, "'" + std::string(key) + "' is " + number_text(value) +
                      " mm, but the log is only " + whole(shape.length()) +
                      " mm long; measure from the butt, the thicker end.");
    }
    return value;
  }

  double clock() const { return on_the_dial(number("clock", clock_range)); }
};

double radius_towards(const LogShape& shape, double x, const Eigen::Vector2d& direction) {
  const Eigen::Vector2d near = axis_at(shape, x) + direction;  // 1 mm from the axis
  return 1.0 + depth_inside(shape, {x, near.x(), near.y()}, Bark::on);
}

/// The place at x, `depth` below the bark at a clock position.
Eigen::Vector3d place_at(const MarkReader& mark, double x, double clock, double depth) {
  const Eigen::Vector2d direction = clock_direction(clock);
  const double radius = radius_towards(mark.shape, x, direction);
  if (depth > radius) {
    mark.reject("depth", "'depth' is " + number_text(depth) +
                             " mm, but the middle of the log lies " + whole(radius) +
                             " mm below the bark there; measure from the nearer side.");
  }
  const Eigen::Vector2d yz = axis_at(mark.shape, x) + (radius - depth) * direction;
  return rounded(Eigen::Vector3d(x, yz.x(), yz.y()));
}

Eigen::Vector2d read_pith_end(const TableReader& pith, std::string_view key, const LogShape& shape,
                              double x) {
  const toml::node* node = pith.table.get(key);
  if (node == nullptr || !node->is_table()) {
    refuse(pith, line_of(pith, key),
           "the pith needs '" + std::string(key) + "' as { clock = 3, depth = 90 }.");
  }
  const MarkReader end{{*node->as_table(), pith.name, "an end of the pith", pith.fault}, shape};
  allow_only(end.toml, {"clock", "depth"});
  return place_at(end, x, end.clock(), end.number("depth", mm)).tail<2>();
}

Core read_core(const MarkReader& mark) {
  allow_only(mark.toml, {"butt_radius", "top_radius"});
  const Core core{mark.number("butt_radius", mm), mark.number("top_radius", mm)};
  if (core.radius_butt <= 0.0 && core.radius_top <= 0.0) {
    refuse(mark.toml, line_of(mark.toml),
           mark.toml.what + " has a radius of 0 at both ends; leave it out, or measure it.");
  }
  const auto check = [&](std::string_view key, double radius, const std::vector<float>& section) {
    const double most = static_cast<double>(*std::max_element(section.begin(), section.end()));
    if (radius < most) return;
    mark.reject(key, "'" + std::string(key) + "' is " + number_text(radius) +
                         " mm, but the log itself has a radius of at most " + whole(most) +
                         " mm there; give the radius, not the diameter.");
  };
  check("butt_radius", core.radius_butt, mark.shape.radius.front());
  check("top_radius", core.radius_top, mark.shape.radius.back());
  return core;
}

Metal read_metal(const MarkReader& mark) {
  allow_only(mark.toml, {"from_butt", "clock", "depth", "reach"});
  const double x = mark.along("from_butt", mark.number("from_butt", mm));
  const double reach = mark.number("reach", {0, false, 2000, true, "mm"});
  return {place_at(mark, x, mark.clock(), mark.number("depth", mm)), reach};
}

Split read_split(const MarkReader& mark) {
  allow_only(mark.toml, {"end", "clock", "depth", "through"});
  const std::string end = need(mark.toml, "end", find_text(mark.toml, "end", 10));
  if (end != "butt" && end != "top") mark.reject("end", "'end' must be \"butt\" or \"top\".");
  Split split;
  split.from_butt = end == "butt";
  split.direction = clock_direction(mark.clock());
  split.depth = mark.along("depth", mark.number("depth", some_mm));
  split.through = find_flag(mark.toml, "through").value_or(true);
  return split;
}

Knot read_knot(const MarkReader& mark, const PithLine& pith) {
  allow_only(mark.toml, {"from_butt", "clock", "size", "sound"});
  const double x = mark.along("from_butt", mark.number("from_butt", mm));
  const double clock = mark.clock();
  Knot knot;
  knot.diameter = mark.number("size", some_mm);
  knot.sound = find_flag(mark.toml, "sound").value_or(true);
  knot.at_bark = place_at(mark, x, clock, 0.0);
  const Eigen::Vector2d middle = pith.at(x);
  knot.at_pith = rounded(Eigen::Vector3d(x, middle.x(), middle.y()));
  const double radius = radius_towards(mark.shape, x, clock_direction(clock));
  if (knot.diameter > 2.0 * radius) {
    mark.reject("size", "'size' is " + number_text(knot.diameter) +
                            " mm, more than the log itself is thick there, " + whole(2.0 * radius) +
                            " mm; give the diameter of the knot at the bark.");
  }
  return knot;
}

FigureZone read_figure(const MarkReader& mark) {
  allow_only(mark.toml, {"name", "from_butt", "to_butt", "clock_from", "clock_to", "depth"});
  FigureZone zone;
  const auto find = [&](std::string_view key, const Range& range, double otherwise) {
    return find_number(mark.toml, key, range).value_or(otherwise);
  };
  zone.name = need(mark.toml, "name", find_text(mark.toml, "name", 60));
  zone.from = mark.along("from_butt", find("from_butt", mm, 0.0));
  zone.to = mark.along("to_butt", find("to_butt", mm, mark.shape.length()));
  if (zone.to <= zone.from) {
    mark.reject("to_butt", "'to_butt' must lie further from the butt than 'from_butt'.");
  }
  zone.clock_from = on_the_dial(find("clock_from", clock_range, 0.0));
  zone.clock_to = on_the_dial(find("clock_to", clock_range, 12.0));
  if (zone.clock_from == zone.clock_to || (zone.clock_from == 12.0 && zone.clock_to == 0.0)) {
    mark.reject("clock_to",
                "a zone runs clockwise from 'clock_from' to 'clock_to', which must differ; leave "
                "both out where it goes all round.");
  }
  zone.depth = find("depth", mm, 0.0);
  const double most =
      radius_towards(mark.shape, 0.5 * (zone.from + zone.to), clock_direction(zone.clock_from));
  if (zone.depth > 2.0 * most) {
    mark.reject("depth", "'depth' is " + number_text(zone.depth) +
                             " mm, more than the log is thick there; leave it out where the zone "
                             "goes to the middle.");
  }
  return zone;
}

/// Everything written under [[key]].
template <class Read>
auto read_all(const MarkReader& file, std::string_view key, const std::string& what, Read read) {
  std::vector<decltype(read(file))> marks;
  const toml::node* node = file.toml.table.get(key);
  if (node == nullptr) return marks;
  const toml::array* list = node->as_array();
  const auto is_table = [](const toml::node& each) { return each.is_table(); };
  if (list == nullptr || !std::all_of(list->begin(), list->end(), is_table)) {
    file.reject(key, what + " is written under [[" + std::string(key) + "]], with two brackets.");
  }
  if (list->size() > most_of_a_kind) {
    file.reject(key, "there are more than " + std::to_string(most_of_a_kind) + " [[" +
                         std::string(key) + "]].");
  }
  for (const toml::node& each : *list) {
    marks.push_back(
        read(MarkReader{{*each.as_table(), file.toml.name, what, file.toml.fault}, file.shape}));
  }
  return marks;
}

std::optional<Pith> read_pith(const MarkReader& file) {
  const toml::node* node = file.toml.table.get("pith");
  if (node == nullptr) return std::nullopt;
  if (!node->is_table()) file.reject("pith", "the pith is written under [pith], with one bracket.");
  const TableReader pith{*node->as_table(), file.toml.name, "the pith", file.toml.fault};
  allow_only(pith, {"butt", "top"});
  return Pith{read_pith_end(pith, "butt", file.shape, 0.0),
              read_pith_end(pith, "top", file.shape, file.shape.length())};
}

}  // namespace

Marks parse_marks(const std::string& toml, const std::string& name, const LogShape& shape) {
  const toml::table table = parse_toml(toml, name, Fault::bad_marks);
  const MarkReader file{{table, name, "a file of marks", Fault::bad_marks}, shape};
  allow_only(file.toml, {"pith", "rot", "hollow", "metal", "split", "knot", "figure"});
  LogShape marked = shape;
  marked.marks = {};
  marked.marks.pith = read_pith(file);
  const PithLine pith(marked);
  Marks& marks = marked.marks;
  marks.rot = read_all(file, "rot", "rot", read_core);
  marks.hollow = read_all(file, "hollow", "a hollow", read_core);
  marks.metal = read_all(file, "metal", "metal", read_metal);
  marks.splits = read_all(file, "split", "a split", read_split);
  marks.knots = read_all(file, "knot", "a knot",
                         [&](const MarkReader& mark) { return read_knot(mark, pith); });
  marks.figure = read_all(file, "figure", "a zone of figure", read_figure);
  return marks;
}

Marks read_marks(const std::string& path, const LogShape& shape) {
  return parse_marks(read_toml_text(path, Fault::bad_marks), path, shape);
}

}  // namespace kerfwright
