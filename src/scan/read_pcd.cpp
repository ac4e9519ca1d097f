#include <array>
#include <map>

#include "kerfwright/error.hpp"
#include "little_endian.hpp"
#include "lzf.hpp"
#include "number_type.hpp"
#include "raw_cloud.hpp"
#include "text_fields.hpp"

namespace kerfwright {
namespace {

struct Field {
  std::string name;
  NumberType type;
  std::size_t count = 1;
  std::size_t bytes_before = 0, values_before = 0;  ///< in a point
};

struct PcdHeader {
  std::map<std::string, std::vector<std::string>, std::less<>> entries;  ///< keyword -> its words
  std::vector<Field> fields;
  std::size_t body = 0;
  double points = 0.0;
  double height = 1.0;
  std::size_t point_bytes = 0;
  std::size_t values = 0;  ///< numbers in a point
};

[[noreturn]] void damaged(const std::string& path, const std::string& what) {
  throw UserError(Fault::damaged_file,
                  file_name(path) + ": " + what + "; copy or export the scan again.");
}

PcdHeader read_entries(const std::string& path, std::string_view bytes) {
  PcdHeader header;
  LineReader lines(bytes);
  std::vector<std::string_view> words;
  while (const auto line = lines.next()) {
    split_fields(*line, " \t", words);
    if (words.empty() || words[0].front() == '#') continue;
    auto& entry = header.entries[std::string(words[0])];
    entry.assign(words.begin() + 1, words.end());
    if (words[0] != "DATA") continue;
    header.body = bytes.size() - lines.rest().size();
    return header;
  }
  damaged(path, "the PCD header breaks off before its DATA line");
}

double one_number(const PcdHeader& header, const std::string& key, const std::string& path) {
  const auto found = header.entries.find(key);
  const auto value = found != header.entries.end() && found->second.size() == 1
                         ? parse_number(found->second[0])
                         : std::nullopt;
  if (!value || !(*value >= 0.0 && *value < 4e9))
    damaged(path, "the PCD header gives no sound " + key);
  return *value;
}

NumberType type_of(const std::string& name, const std::string& type, double bytes,
                   const std::string& path) {
  using Kind = NumberType::Kind;
  if (type != "F" && type != "I" && type != "U")
    damaged(path, "the PCD header gives field " + name + " no known type");
  const NumberType found{type == "F"   ? Kind::real
                         : type == "I" ? Kind::signed_whole
                                       : Kind::unsigned_whole,
                         static_cast<std::size_t>(bytes)};
  if (!reader_of(found, false))
    damaged(path, "the PCD header gives field " + name + " a size that its type has not");
  return found;
}

void find_fields(PcdHeader& header, const std::string& path) {
  const auto& names = header.entries["FIELDS"];
  const auto& sizes = header.entries["SIZE"];
  const auto& types = header.entries["TYPE"];
  auto& counts = header.entries["COUNT"];
  if (counts.empty()) counts.assign(names.size(), "1");
  if (names.empty() || sizes.size() != names.size() || types.size() != names.size() ||
      counts.size() != names.size())
    damaged(path, "FIELDS, SIZE, TYPE and COUNT of the PCD header differ in number");
  for (std::size_t i = 0; i < names.size(); ++i) {
    const bool whole = (sizes[i] + counts[i]).find_first_not_of("0123456789") == std::string::npos;
    const auto size = parse_number(sizes[i]);
    const auto count = parse_number(counts[i]);
    if (!whole || !size || !count || !(*size == 1 || *size == 2 || *size == 4 || *size == 8) ||
        !(*count >= 1 && *count <= 100000))
      damaged(path, "the PCD header gives field " + names[i] + " a size or count that cannot be");
    const Field field{names[i], type_of(names[i], types[i], *size, path),
                      static_cast<std::size_t>(*count), header.point_bytes, header.values};
    header.point_bytes += field.type.bytes * field.count;
    header.values += field.count;
    header.fields.push_back(field);
  }
}

PcdHeader parse_header(const std::string& path, std::string_view bytes) {
  PcdHeader header = read_entries(path, bytes);
  find_fields(header, path);
  header.height = one_number(header, "HEIGHT", path);
  const double grid = one_number(header, "WIDTH", path) * header.height;
  header.points = header.entries.contains("POINTS") ? one_number(header, "POINTS", path) : grid;
  if (header.points != grid) damaged(path, "WIDTH times HEIGHT of the PCD header is not POINTS");
  if (header.points != static_cast<double>(static_cast<std::uint64_t>(header.points)))
    damaged(path, "the PCD header gives no whole number of POINTS");
  if (header.points == 0)
    throw UserError(Fault::empty_file, file_name(path) +
                                           ": the PCD header promises no points; check what was "
                                           "selected when the scan was exported.");
  return header;
}

std::array<const Field*, 3> coordinates_of(const PcdHeader& header, const std::string& path) {
  std::array<const Field*, 3> coordinates{};
  for (std::size_t axis = 0; axis < 3; ++axis) {
    const std::string name(1, "xyz"[axis]);
    for (const Field& field : header.fields)
      if (field.name == name && coordinates[axis] == nullptr) coordinates[axis] = &field;
    if (coordinates[axis] == nullptr)
      throw UserError(Fault::damaged_file, file_name(path) + ": the points have no coordinate " +
                                               name + "; export the scan again with x, y and z.");
  }
  return coordinates;
}

using Coordinates = std::array<const Field*, 3>;

/// A line for each point. @returns false where there are too few lines, or numbers in one
bool take_text(const PcdHeader& header, const Coordinates& fields, std::string_view body,
               RawCloud& cloud) {
  if (2.0 * static_cast<double>(header.values) * header.points - 1.0 >
      static_cast<double>(body.size()))
    return false;
  LineReader lines(body);
  std::vector<std::string_view> words;
  while (static_cast<double>(cloud.points.size()) < header.points) {
    const auto line = lines.next();
    if (!line) return false;
    split_fields(*line, " \t", words);
    if (words.empty()) continue;
    if (words.size() < header.values) return false;
    const auto coordinate = [&](std::size_t axis) {
      return number_or_nan(words[fields[axis]->values_before]);
    };
    cloud.points.emplace_back(coordinate(0), coordinate(1), coordinate(2));
  }
  return true;
}

/// Points one after the other, or (`columns`) each field of all points after the one before it.
/// @returns false where the body is too short
bool take_binary(const PcdHeader& header, const Coordinates& fields, std::string_view body,
                 bool columns, RawCloud& cloud) {
  if (static_cast<double>(header.point_bytes) * header.points > static_cast<double>(body.size()))
    return false;
  const auto points = static_cast<std::size_t>(header.points);
  std::array<const char*, 3> at{};
  std::array<std::size_t, 3> step{};
  std::array<NumberReader, 3> read{};
  for (std::size_t axis = 0; axis < 3; ++axis) {
    const Field& field = *fields[axis];
    at[axis] = body.data() + field.bytes_before * (columns ? points : 1);
    step[axis] = columns ? field.type.bytes * field.count : header.point_bytes;
    read[axis] = reader_of(field.type, false).value();
  }
  cloud.points.reserve(points);
  for (std::size_t i = 0; i < points; ++i)
    cloud.points.emplace_back(read[0](at[0] + i * step[0]), read[1](at[1] + i * step[1]),
                              read[2](at[2] + i * step[2]));
  return true;
}

/// Its first eight bytes say how large it is packed and unpacked.
bool take_compressed(const PcdHeader& header, const Coordinates& fields, std::string_view body,
                     RawCloud& cloud) {
  if (body.size() < 8) return false;
  const auto packed = little_endian<std::uint32_t>(body, 0);
  const auto size = little_endian<std::uint32_t>(body, 4);
  // LZF packs to an 88th at best.
  if (packed > body.size() - 8 ||
      static_cast<double>(size) != header.points * static_cast<double>(header.point_bytes) ||
      static_cast<double>(size) > 300.0 * static_cast<double>(packed))
    return false;
  const auto unpacked = unpack_lzf(body.substr(8, packed), size);
  return unpacked && take_binary(header, fields, *unpacked, true, cloud);
}

}  // namespace

RawCloud read_pcd(const std::string& path, std::string_view bytes) {
  PcdHeader header = parse_header(path, bytes);
  const auto& data = header.entries["DATA"];
  const std::string kind = data.empty() ? "" : data[0];
  if (kind != "ascii" && kind != "binary" && kind != "binary_compressed")
    damaged(path, "the PCD header names no kind of DATA that is known");
  const std::string_view body = bytes.substr(header.body);
  const Coordinates fields = coordinates_of(header, path);
  RawCloud cloud;
  cloud.organised = header.height > 1;
  const bool whole = kind == "ascii"    ? take_text(header, fields, body, cloud)
                     : kind == "binary" ? take_binary(header, fields, body, false, cloud)
                                        : take_compressed(header, fields, body, cloud);
  if (!whole)
    damaged(path, "the header promises " +
                      std::to_string(static_cast<std::uint64_t>(header.points)) +
                      " points, but the data after it do not hold them");
  return cloud;
}

}  // namespace kerfwright
