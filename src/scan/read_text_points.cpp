#include <algorithm>
#include <cctype>
#include <optional>

#include "kerfwright/error.hpp"
#include "kerfwright/fixed.hpp"
#include "raw_cloud.hpp"
#include "text_fields.hpp"

namespace kerfwright {
namespace {

/// How a text file writes its numbers; found from its first line with three of them.
struct TextStyle {
  std::string_view separators = " \t,;";
  bool decimal_comma = false;
  std::array<std::size_t, 3> columns{0, 1, 2};
  std::optional<double> promised;  ///< points, where the first line is a lone whole number
  std::size_t header_lines = 0;
};

[[noreturn]] void damaged(const std::string& path, const std::string& what) {
  throw UserError(Fault::damaged_file, file_name(path) + ": " + what +
                                           "; the file breaks off or is damaged: export it again.");
}

bool is_remark(std::string_view line) {
  return line.empty() || line.front() == '#' || line.starts_with("//");
}

/// A field as a number; `comma` says that its comma is a decimal one.
std::optional<double> field_number(std::string_view field, bool comma) {
  if (!comma || field.find(',') == std::string_view::npos) return parse_number(field);
  std::string text(field);
  std::replace(text.begin(), text.end(), ',', '.');
  return parse_number(text);
}

/// "1,5 2,5 3,5" or "1,5;2,5;3,5": the comma is a decimal one where other separators already make
/// three columns and every one of the first three has a digit on both sides of a single comma.
bool has_decimal_commas(std::string_view line) {
  std::vector<std::string_view> fields;
  split_fields(line, " \t;", fields);
  if (fields.size() < 3) return false;
  bool any = false;
  for (std::size_t i = 0; i < 3; ++i) {
    const std::size_t comma = fields[i].find(',');
    if (comma == std::string_view::npos) continue;
    any = true;
    if (comma + 1 >= fields[i].size() || fields[i].find(',', comma + 1) != std::string_view::npos)
      return false;
  }
  return any;
}

/// Where a header line names x, y and z, their columns.
void take_column_names(std::string_view line, TextStyle& style) {
  std::vector<std::string_view> names;
  split_fields(line, " \t,;#/\"", names);
  std::array<std::size_t, 3> columns{};
  for (std::size_t axis = 0; axis < 3; ++axis) {
    const auto found = std::find_if(names.begin(), names.end(), [axis](std::string_view name) {
      return name.size() == 1 && std::tolower(static_cast<unsigned char>(name[0])) == "xyz"[axis];
    });
    if (found == names.end()) return;
    columns[axis] = static_cast<std::size_t>(found - names.begin());
  }
  style.columns = columns;
}

std::size_t leading_numbers(std::string_view line, const TextStyle& style,
                            std::vector<std::string_view>& fields) {
  split_fields(line, style.separators, fields);
  std::size_t count = 0;
  while (count < fields.size() && field_number(fields[count], style.decimal_comma)) ++count;
  return count;
}

/// Looks at the lines before the first point: remarks, a line of names, a lone count.
/// @returns nothing where the first lines hold no point
std::optional<TextStyle> detect_style(std::string_view bytes) {
  TextStyle style;
  LineReader lines(bytes);
  std::vector<std::string_view> fields;
  int headers = 0;
  while (const auto raw = lines.next()) {
    const std::string_view line = trimmed(*raw);
    if (is_remark(line)) {
      take_column_names(line, style);
      continue;
    }
    style.decimal_comma = has_decimal_commas(line);
    style.separators = style.decimal_comma ? " \t;" : " \t,;";
    const std::size_t numbers = leading_numbers(line, style, fields);
    if (numbers >= 3 || (numbers > 0 && fields.size() > 2 && style.columns[2] != 2)) return style;
    if (++headers > 2) return std::nullopt;
    if (numbers == 1 && fields.size() == 1) style.promised = field_number(fields[0], false);
    take_column_names(line, style);
    style.header_lines = lines.number();
  }
  return std::nullopt;
}

/// One line of a file as a point, or nothing.
std::optional<Eigen::Vector3d> parse_point(const std::vector<std::string_view>& fields,
                                           const TextStyle& style) {
  Eigen::Vector3d point;
  for (std::size_t axis = 0; axis < 3; ++axis) {
    const std::size_t column = style.columns[axis];
    if (column >= fields.size()) return std::nullopt;
    const auto value = field_number(fields[column], style.decimal_comma);
    if (!value) return std::nullopt;
    point[static_cast<Eigen::Index>(axis)] = *value;
  }
  return point;
}

std::vector<Eigen::Vector3d> read_lines(const std::string& path, std::string_view bytes,
                                        const TextStyle& style) {
  std::vector<Eigen::Vector3d> points;
  points.reserve(bytes.size() / 40);
  LineReader lines(bytes);
  std::vector<std::string_view> fields;
  std::size_t columns = 0;
  while (const auto raw = lines.next()) {
    const std::string_view line = trimmed(*raw);
    if (lines.number() <= style.header_lines || is_remark(line)) continue;
    split_fields(line, style.separators, fields);
    const auto point = parse_point(fields, style);
    if (!point)
      damaged(path,
              "line " + std::to_string(lines.number()) + " does not give x, y and z as numbers");
    // A file cut off in a line still ends in numbers, but in fewer of them.
    if (!lines.ended() && columns > 0 && fields.size() < columns)
      damaged(path, "its last line, " + std::to_string(lines.number()) + ", breaks off");
    columns = fields.size();
    points.push_back(*point);
  }
  return points;
}

}  // namespace

RawCloud read_text_points(const std::string& path, std::string_view bytes) {
  if (bytes.starts_with("\xEF\xBB\xBF")) bytes.remove_prefix(3);
  const auto style = detect_style(bytes);
  if (!style)
    throw UserError(Fault::unknown_format,
                    file_name(path) +
                        ": this text does not hold points, one x y z a line; export the "
                        "scan as PLY, PCD, OBJ or such a text.");
  RawCloud cloud;
  cloud.points = read_lines(path, bytes, *style);
  if (style->promised && static_cast<double>(cloud.points.size()) < *style->promised)
    damaged(path, "it holds " + std::to_string(cloud.points.size()) + " points, fewer than the " +
                      fixed(*style->promised, 0) + " that its first line promises");
  return cloud;
}

}  // namespace kerfwright
