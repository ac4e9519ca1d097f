#include <algorithm>
#include <array>
#include <cmath>
#include <limits>

#include "kerfwright/error.hpp"
#include "ply_header.hpp"
#include "raw_cloud.hpp"
#include "text_fields.hpp"

namespace kerfwright {
namespace {

[[noreturn]] void breaks_off(const std::string& path, const PlyHeader& header, std::size_t bytes) {
  throw UserError(Fault::damaged_file,
                  file_name(path) + ": the header promises " + std::to_string(header.vertices) +
                      " points, but the " + std::to_string(bytes - header.body) +
                      " bytes after it do not hold them; the file breaks off or is damaged: copy "
                      "or export it again.");
}

/// Which properties of an element are asked for; `none` where it has not got one.
struct Wanted {
  static constexpr std::size_t none = std::numeric_limits<std::size_t>::max();
  std::array<std::size_t, 3> coordinates{none, none, none};
  std::size_t corners = none;
};

Wanted wanted_of(const PlyElement& element) {
  Wanted wanted;
  for (std::size_t i = element.properties.size(); i-- > 0;) {
    const PlyProperty& property = element.properties[i];
    if (element.name == "vertex" && !property.count)
      for (std::size_t axis = 0; axis < 3; ++axis)
        if (property.name == std::string_view("xyz").substr(axis, 1)) wanted.coordinates[axis] = i;
    if (element.name == "face" && property.count &&
        (property.name == "vertex_indices" || property.name == "vertex_index"))
      wanted.corners = i;
  }
  return wanted;
}

/// A face as a fan. What is no index becomes one that no point has.
void take_face(const std::vector<double>& corners, RawCloud& cloud) {
  constexpr auto nowhere = std::numeric_limits<std::uint32_t>::max();
  const auto index = [&](std::size_t i) {
    const double corner = corners[i];
    return corner >= 0.0 && corner < nowhere ? static_cast<std::uint32_t>(corner) : nowhere;
  };
  for (std::size_t i = 2; i < corners.size(); ++i)
    cloud.triangles.push_back({index(0), index(i - 1), index(i)});
}

/// How many numbers a list has, by the number before it; nothing where that cannot be.
std::optional<std::size_t> list_length(double said) {
  if (!(said >= 0.0 && said < 4294967296.0 && said == std::floor(said))) return std::nullopt;
  return static_cast<std::size_t>(said);
}

/// Elements of a text body, a line each.
class TextBody {
 public:
  explicit TextBody(std::string_view bytes) : lines_(bytes) {}

  /// @returns false where a line is missing or has not as many numbers as it should
  bool take(const PlyElement& element, RawCloud& cloud) {
    if (element.properties.empty()) return true;
    const Wanted wanted = wanted_of(element);
    for (std::uint64_t i = 0; i < element.count; ++i) {
      if (!next_line() || !find_properties(element)) return false;
      if (element.name == "vertex") {
        const auto coordinate = [&](int axis) {
          return number_or_nan(words_[begins_[wanted.coordinates[static_cast<std::size_t>(axis)]]]);
        };
        cloud.points.emplace_back(coordinate(0), coordinate(1), coordinate(2));
      } else if (wanted.corners != Wanted::none) {
        corners_.clear();
        for (std::size_t k = begins_[wanted.corners]; k < begins_[wanted.corners + 1]; ++k)
          corners_.push_back(number_or_nan(words_[k]));
        corners_.erase(corners_.begin());  // how many there are
        take_face(corners_, cloud);
      }
    }
    return true;
  }

 private:
  bool next_line() {
    while (const auto line = lines_.next()) {
      split_fields(*line, " \t", words_);
      if (!words_.empty()) return true;
    }
    return false;
  }
  /// Where in the line each property begins, and where the last ends.
  bool find_properties(const PlyElement& element) {
    begins_.clear();
    std::size_t at = 0;
    for (const PlyProperty& property : element.properties) {
      begins_.push_back(at);
      if (at >= words_.size()) return false;
      const auto length =
          property.count ? list_length(number_or_nan(words_[at])) : std::optional<std::size_t>(0);
      if (!length) return false;
      at += 1 + *length;
    }
    begins_.push_back(at);
    return at == words_.size();
  }

  LineReader lines_;
  std::vector<std::string_view> words_;
  std::vector<std::size_t> begins_;
  std::vector<double> corners_;
};

/// Elements of a binary body.
class BinaryBody {
 public:
  BinaryBody(std::string_view bytes, bool big_endian) : rest_(bytes), big_endian_(big_endian) {}

  /// @returns false where the bytes end before the element does
  bool take(const PlyElement& element, RawCloud& cloud) {
    if (element.properties.empty()) return true;
    const bool rows = !element.has_lists();
    if (rows && element.count > rest_.size() / element.bytes()) return false;
    if (element.name == "vertex")
      return rows ? take_table(element, cloud) : take_each(element, cloud);
    if (!rows) return take_each(element, cloud);
    rest_.remove_prefix(element.count * element.bytes());
    return true;
  }

 private:
  /// Points in rows of one length.
  bool take_table(const PlyElement& element, RawCloud& cloud) {
    const Wanted wanted = wanted_of(element);
    std::array<std::size_t, 3> offset{};
    std::array<NumberReader, 3> read{};
    for (std::size_t axis = 0; axis < 3; ++axis) {
      const std::size_t property = wanted.coordinates[axis];
      for (std::size_t i = 0; i < property; ++i) offset[axis] += element.properties[i].type.bytes;
      read[axis] = reader(element.properties[property].type);
    }
    const std::size_t row = element.bytes();
    cloud.points.reserve(element.count);
    for (std::uint64_t i = 0; i < element.count; ++i) {
      const char* at = rest_.data() + i * row;
      cloud.points.emplace_back(read[0](at + offset[0]), read[1](at + offset[1]),
                                read[2](at + offset[2]));
    }
    rest_.remove_prefix(element.count * row);
    return true;
  }
  /// Elements with lists, one after the other.
  bool take_each(const PlyElement& element, RawCloud& cloud) {
    const Wanted wanted = wanted_of(element);
    const auto readers = readers_of(element);
    for (std::uint64_t i = 0; i < element.count; ++i) {
      Eigen::Vector3d point;
      corners_.clear();
      for (std::size_t k = 0; k < element.properties.size(); ++k) {
        const PlyProperty& property = element.properties[k];
        std::size_t numbers = 1;
        if (property.count) {
          if (rest_.size() < property.count->bytes) return false;
          const auto length = list_length(readers[k].count(rest_.data()));
          rest_.remove_prefix(property.count->bytes);
          if (!length) return false;
          numbers = *length;
        }
        if (numbers > rest_.size() / property.type.bytes) return false;
        if (k == wanted.corners)
          for (std::size_t n = 0; n < numbers; ++n)
            corners_.push_back(readers[k].number(rest_.data() + n * property.type.bytes));
        for (std::size_t axis = 0; axis < 3; ++axis)
          if (k == wanted.coordinates[axis])
            point[static_cast<Eigen::Index>(axis)] = readers[k].number(rest_.data());
        rest_.remove_prefix(numbers * property.type.bytes);
      }
      if (element.name == "vertex") cloud.points.push_back(point);
      take_face(corners_, cloud);
    }
    return true;
  }

  struct Readers {
    NumberReader number = nullptr, count = nullptr;
  };
  /// The header took no type that has no reader.
  NumberReader reader(const NumberType& type) const { return reader_of(type, big_endian_).value(); }
  std::vector<Readers> readers_of(const PlyElement& element) const {
    std::vector<Readers> readers;
    for (const PlyProperty& property : element.properties)
      readers.push_back({reader(property.type), reader(property.count.value_or(property.type))});
    return readers;
  }

  std::string_view rest_;
  bool big_endian_ = false;
  std::vector<double> corners_;
};

template <class Body>
bool take_elements(const PlyHeader& header, Body body, RawCloud& cloud) {
  return std::all_of(header.elements.begin(), header.elements.end(),
                     [&](const PlyElement& element) { return body.take(element, cloud); });
}

bool faces_have_points(const RawCloud& cloud) {
  for (const auto& triangle : cloud.triangles)
    for (const std::uint32_t corner : triangle)
      if (corner >= cloud.points.size()) return false;
  return true;
}

}  // namespace

RawCloud read_ply(const std::string& path, std::string_view bytes) {
  const PlyHeader header = parse_ply_header(path, bytes);
  const std::string_view body = bytes.substr(header.body);
  if (header.least_body() > static_cast<double>(body.size()))
    breaks_off(path, header, bytes.size());
  RawCloud cloud;
  const bool whole = header.ascii
                         ? take_elements(header, TextBody(body), cloud)
                         : take_elements(header, BinaryBody(body, header.big_endian), cloud);
  if (!whole) breaks_off(path, header, bytes.size());
  // A grid of rays, of which some may have met nothing.
  cloud.organised = std::any_of(header.elements.begin(), header.elements.end(),
                                [](const PlyElement& e) { return e.name == "range_grid"; });
  if (!faces_have_points(cloud))
    throw UserError(Fault::damaged_file,
                    file_name(path) + ": a face names a point that is not there; export it again.");
  return cloud;
}

}  // namespace kerfwright
