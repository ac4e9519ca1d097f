#include <charconv>

#include "kerfwright/error.hpp"
#include "raw_cloud.hpp"
#include "text_fields.hpp"

// Not through PCL: its OBJ reader rounds every coordinate to float, which at surveyed coordinates
// of 10^6 m is 6 cm.

namespace kerfwright {
namespace {

[[noreturn]] void damaged(const std::string& path, std::size_t line, const std::string& what) {
  throw UserError(Fault::damaged_file, file_name(path) + ": line " + std::to_string(line) + " " +
                                           what +
                                           "; the file breaks off or is damaged: export it again.");
}

Eigen::Vector3d parse_vertex(const std::vector<std::string_view>& words, const std::string& path,
                             std::size_t line) {
  Eigen::Vector3d vertex;
  for (std::size_t axis = 0; axis < 3; ++axis) {
    const auto value = words.size() > axis + 1 ? parse_number(words[axis + 1]) : std::nullopt;
    if (!value) damaged(path, line, "is a vertex without three numbers");
    vertex[static_cast<Eigen::Index>(axis)] = *value;
  }
  return vertex;
}

/// "7", "7/1/3", "7//3" or "-1" (the last vertex so far); an index outside gives the number of
/// vertices.
std::uint32_t parse_index(std::string_view word, std::size_t vertices) {
  long long index = 0;
  std::from_chars(word.data(), word.data() + word.size(), index);
  const auto count = static_cast<long long>(vertices);
  const long long zero_based = index > 0 ? index - 1 : count + index;
  return static_cast<std::uint32_t>(index != 0 && zero_based >= 0 && zero_based < count ? zero_based
                                                                                        : count);
}

void take_face(const std::vector<std::string_view>& words, RawCloud& cloud, const std::string& path,
               std::size_t line) {
  if (words.size() < 4) damaged(path, line, "is a face of fewer than three corners");
  const std::size_t vertices = cloud.points.size();
  for (std::size_t i = 3; i < words.size(); ++i) {
    const std::array<std::uint32_t, 3> triangle{parse_index(words[1], vertices),
                                                parse_index(words[i - 1], vertices),
                                                parse_index(words[i], vertices)};
    for (const std::uint32_t corner : triangle)
      if (corner >= vertices) damaged(path, line, "is a face with a corner that is not there");
    cloud.triangles.push_back(triangle);
  }
}

}  // namespace

RawCloud read_obj(const std::string& path, std::string_view bytes) {
  RawCloud cloud;
  LineReader lines(bytes);
  std::vector<std::string_view> words;
  while (const auto line = lines.next()) {
    split_fields(*line, " \t", words);
    if (words.empty()) continue;
    if (words[0] == "v") cloud.points.push_back(parse_vertex(words, path, lines.number()));
    if (words[0] == "f") take_face(words, cloud, path, lines.number());
  }
  if (cloud.points.empty())
    throw UserError(Fault::empty_file,
                    file_name(path) +
                        ": the OBJ holds no vertices; check what was selected when "
                        "the scan was exported.");
  return cloud;
}

}  // namespace kerfwright
