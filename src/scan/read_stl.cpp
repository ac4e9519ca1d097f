#include <algorithm>
#include <cctype>

#include "assimp_meshes.hpp"
#include "kerfwright/error.hpp"
#include "little_endian.hpp"
#include "raw_cloud.hpp"
#include "text_fields.hpp"

namespace kerfwright {
namespace {

constexpr std::size_t binary_head = 84;   // 80 bytes of anything, then the number of facets
constexpr std::size_t binary_facet = 50;  // normal and three corners in float, two bytes more

[[noreturn]] void damaged(const std::string& path, const std::string& what) {
  throw UserError(Fault::damaged_file, file_name(path) + ": " + what +
                                           "; the file breaks off or is damaged: export it again.");
}

[[noreturn]] void no_facets(const std::string& path) {
  throw UserError(Fault::empty_file,
                  file_name(path) +
                      ": the STL holds no facets; check what was selected when the scan was "
                      "exported.");
}

RawCloud read_binary(const std::string& path, std::string_view bytes) {
  if (bytes.size() < binary_head) damaged(path, "the head of the STL is cut short");
  const auto facets = little_endian<std::uint32_t>(bytes, 80);
  if (facets == 0) no_facets(path);
  if (facets > (bytes.size() - binary_head) / binary_facet)
    damaged(path, "the STL promises " + std::to_string(facets) + " facets, but its " +
                      std::to_string(bytes.size()) + " bytes do not hold them");
  RawCloud cloud;
  bool sound = true;
  // Cut to the promised size, by which Assimp tells a binary STL from a text.
  const std::string_view whole = bytes.substr(0, binary_head + facets * binary_facet);
  const bool read = read_with_assimp(whole, "stl", [&](const aiMesh& mesh) {
    sound = append_mesh(mesh, Eigen::Affine3d::Identity(), cloud) && sound;
  });
  if (!read || !sound || cloud.triangles.size() != facets)
    damaged(path, "the facets of the STL cannot be read");
  return cloud;
}

bool is_word(std::string_view word, std::string_view lower) {
  return word.size() == lower.size() &&
         std::equal(word.begin(), word.end(), lower.begin(), [](unsigned char a, char b) {
           return std::tolower(a) == static_cast<unsigned char>(b);
         });
}

Eigen::Vector3d parse_vertex(const std::vector<std::string_view>& words, const std::string& path,
                             std::size_t line) {
  Eigen::Vector3d vertex;
  for (std::size_t axis = 0; axis < 3; ++axis) {
    const auto value = words.size() == 4 ? parse_number(words[axis + 1]) : std::nullopt;
    if (!value)
      damaged(path, "line " + std::to_string(line) + " is a vertex without three numbers");
    vertex[static_cast<Eigen::Index>(axis)] = *value;
  }
  return vertex;
}

/// Not through Assimp, which rounds to float: a text may hold surveyed coordinates in full.
RawCloud read_ascii(const std::string& path, std::string_view bytes) {
  RawCloud cloud;
  LineReader lines(bytes);
  std::vector<std::string_view> words;
  bool closed = false;
  while (const auto line = lines.next()) {
    split_fields(*line, " \t", words);
    if (words.empty()) continue;
    if (is_word(words[0], "vertex"))
      cloud.points.push_back(parse_vertex(words, path, lines.number()));
    if (is_word(words[0], "endfacet")) {
      if (cloud.points.size() != 3 * cloud.triangles.size() + 3)
        damaged(path, "line " + std::to_string(lines.number()) +
                          " ends a facet that has not three corners");
      const auto corner = static_cast<std::uint32_t>(cloud.points.size() - 3);
      cloud.triangles.push_back({corner, corner + 1, corner + 2});
    }
    closed = is_word(words[0], "endsolid");
  }
  if (!closed) damaged(path, "the STL does not end in endsolid");
  if (cloud.triangles.empty()) no_facets(path);
  if (cloud.points.size() != 3 * cloud.triangles.size())
    damaged(path, "the STL has corners that belong to no facet");
  return cloud;
}

}  // namespace

RawCloud read_stl(const std::string& path, std::string_view bytes) {
  return is_ascii_stl(bytes) ? read_ascii(path, bytes) : read_binary(path, bytes);
}

bool is_ascii_stl(std::string_view bytes) {
  LineReader lines(bytes.substr(0, 4096));
  std::vector<std::string_view> words;
  bool solid = false;
  while (const auto line = lines.next()) {
    split_fields(*line, " \t", words);
    if (words.empty()) continue;
    if (solid) return is_word(words[0], "facet") || is_word(words[0], "endsolid");
    if (!is_word(words[0], "solid")) return false;
    solid = true;
  }
  return solid && bytes.size() < binary_head;
}

bool is_binary_stl(std::string_view bytes) {
  return bytes.size() >= binary_head &&
         bytes.size() ==
             binary_head + std::size_t{binary_facet} * little_endian<std::uint32_t>(bytes, 80);
}

}  // namespace kerfwright
