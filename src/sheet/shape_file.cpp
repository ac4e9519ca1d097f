#include "kerfwright/sheet/shape_file.hpp"

#include "json_read.hpp"
#include "json_text.hpp"
#include "marks_json.hpp"

namespace kerfwright {
namespace {

namespace write = json_text;
namespace read = json_read;

constexpr double thickest_bark = 1000.0;         // mm
constexpr std::size_t most_samples = 4'000'000;  // radii of one shape

template <class Row, class Item>
std::string table(const std::vector<Row>& rows, Item item) {
  std::vector<std::string> texts;
  texts.reserve(rows.size());
  for (const auto& row : rows) texts.push_back(item(row));
  return write::lines(texts);
}

std::string source_text(const ScanSource& source) {
  return write::object({write::member("file", write::quoted(source.file)),
                        write::member("sha256", write::quoted(source.sha256)),
                        write::member("points", std::to_string(source.points))});
}

ScanSource read_source(const read::Node& node) {
  const auto points = read::member(node, "points");
  if (!points.value->is_number_unsigned()) {
    read::reject(*node.reading, "\"source.points\" is not a whole number of 0 or more");
  }
  return {read::text(read::member(node, "file")), read::digest(read::member(node, "sha256")),
          points.value->get<std::uint64_t>()};
}

std::vector<double> read_stations(const read::Node& node) {
  const auto stations = read::numbers(node, 2, 100'000, 0.0, read::longest);
  if (stations.front() != 0.0) read::reject(*node.reading, "\"stations\" does not begin with 0");
  for (std::size_t i = 1; i < stations.size(); ++i) {
    // Closer than this, slopes between stations lose their meaning.
    if (stations[i] - stations[i - 1] < 1e-3) {
      read::reject(*node.reading, "\"stations\" does not increase at item " + std::to_string(i));
    }
  }
  return stations;
}

std::vector<Eigen::Vector2d> read_axis(const read::Node& node, std::size_t stations) {
  std::vector<Eigen::Vector2d> axis;
  for (const auto& item : read::items(node, stations, stations)) {
    const auto yz = read::numbers(item, 2, 2, -read::longest, read::longest);
    axis.emplace_back(yz[0], yz[1]);
  }
  return axis;
}

template <class Number>
std::vector<std::vector<Number>> read_table(const read::Node& node, std::size_t rows,
                                            std::size_t columns, double most) {
  std::vector<std::vector<Number>> table;
  table.reserve(rows);
  for (const auto& row : read::items(node, rows, rows)) {
    auto& line = table.emplace_back();
    line.reserve(columns);
    for (const auto& item : read::items(row, columns, columns)) {
      line.push_back(static_cast<Number>(read::number(item, 0.0, most)));
    }
  }
  return table;
}

std::vector<std::vector<unsigned char>> read_seen(const read::Node& node, std::size_t rows,
                                                  std::size_t columns) {
  std::vector<std::vector<unsigned char>> table;
  for (const auto& row : read::items(node, rows, rows)) {
    auto& line = table.emplace_back();
    for (const auto& item : read::items(row, columns, columns)) {
      line.push_back(static_cast<unsigned char>(read::whole(item, 0, 1)));
    }
  }
  return table;
}

}  // namespace

std::string shape_to_json(const LogShape& shape) {
  using write::member;
  const auto number_row = [](const auto& row) { return write::numbers(row); };
  const auto axis_row = [](const Eigen::Vector2d& yz) {
    return write::list({write::number(yz.x()), write::number(yz.y())});
  };
  const auto seen_row = [](const std::vector<unsigned char>& row) {
    std::vector<std::string> flags;
    for (const unsigned char flag : row) flags.emplace_back(flag != 0 ? "1" : "0");
    return write::list(flags);
  };
  const bool more = !shape.bark_at_station.empty() || !shape.marks.empty();
  std::vector<std::string> members = {
      member("format", write::quoted("kerfwright-shape")) + ", " +
          member("version", more ? "2" : "1"),
      member("source", source_text(shape.source)),
      member("scan_to_log", write::matrix(shape.scan_to_log)),
      member("stations", write::numbers(shape.stations)),
      member("axis", table(shape.axis, axis_row)),
      member("angles", std::to_string(shape.angles)),
      member("radius", table(shape.radius, number_row)),
      member("sigma", table(shape.sigma, number_row)),
      member("seen", table(shape.seen, seen_row)),
      member("bark", write::number(shape.bark)),
  };
  if (!shape.bark_at_station.empty()) {
    members.push_back(member("bark_at", write::numbers(shape.bark_at_station)));
  }
  if (!shape.marks.empty()) members.push_back(member("marks", sheet::marks_text(shape.marks)));
  return write::document(members);
}

LogShape shape_from_json(const std::string& text, const std::string& name) {
  const read::Reading reading{Fault::bad_shape, "shape", name, "make it again from the scan", 2};
  read::json document;
  const auto root = read::open_document(reading, text, document);
  LogShape shape;
  shape.source = read_source(read::member(root, "source"));
  shape.scan_to_log = read::matrix(read::member(root, "scan_to_log"));
  shape.stations = read_stations(read::member(root, "stations"));
  const std::size_t stations = shape.stations.size();
  shape.axis = read_axis(read::member(root, "axis"), stations);
  shape.angles = read::whole(read::member(root, "angles"), 3, 100'000);
  const auto angles = static_cast<std::size_t>(shape.angles);
  if (stations * angles > most_samples) read::reject(reading, "it has more than 4 million radii");
  shape.radius = read_table<float>(read::member(root, "radius"), stations, angles, read::longest);
  shape.sigma = read_table<float>(read::member(root, "sigma"), stations, angles, read::longest);
  shape.seen = read_seen(read::member(root, "seen"), stations, angles);
  shape.bark = read::number(read::member(root, "bark"), 0.0, thickest_bark);
  if (document["version"] == 1) return shape;  // whatever else stands there is not of version 1
  if (read::has(root, "bark_at")) {
    shape.bark_at_station =
        read::numbers(read::member(root, "bark_at"), stations, stations, 0.0, thickest_bark);
  }
  if (read::has(root, "marks")) {
    shape.marks = sheet::read_marks(read::member(root, "marks"));
  }
  return shape;
}

}  // namespace kerfwright
