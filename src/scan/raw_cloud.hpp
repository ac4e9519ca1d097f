#pragma once

#include <Eigen/Core>
#include <array>
#include <cstdint>
#include <string>
#include <string_view>
#include <vector>

namespace kerfwright {

/// What a file holds, in its own unit and axes, nothing lost. Only within the scan room.
struct RawCloud {
  std::vector<Eigen::Vector3d> points;
  std::vector<std::array<std::uint32_t, 3>>
      triangles;           ///< empty for a cloud; else indices into points
  bool organised = false;  ///< a depth picture: a point that is no number is a ray that met nothing
  std::size_t left_out = 0;        ///< points of the file that are not in `points`
  std::vector<std::string> notes;  ///< what the reader left out, a sentence each, for the person
};

/// Each reader takes the bytes of the whole file; `path` names it in sentences.
/// @throws UserError damaged_file, empty_file, unknown_format
RawCloud read_ply(const std::string& path, std::string_view bytes);
RawCloud read_pcd(const std::string& path, std::string_view bytes);
RawCloud read_obj(const std::string& path, std::string_view bytes);
RawCloud read_las(const std::string& path, std::string_view bytes);
RawCloud read_stl(const std::string& path, std::string_view bytes);
RawCloud read_gltf(const std::string& path, std::string_view bytes);
RawCloud read_text_points(const std::string& path, std::string_view bytes);

enum class FileType { ply, pcd, obj, las, stl, gltf, text };

/// An STL as text: "solid" and a name, then "facet".
bool is_ascii_stl(std::string_view bytes);
/// A binary STL has no signature, but its size follows from the number of facets that it states.
bool is_binary_stl(std::string_view bytes);

/// By what is in the file, then by the ending of its name.
/// @throws UserError unknown_format with a sentence that says how to export something else
FileType detect_type(const std::string& path, std::string_view bytes);

/// A mesh as points spread evenly over its area (fixed seed), whatever the size of its faces;
/// corners that no face uses stay. A cloud, or a mesh without any area, stays as it is.
/// @returns how many points were spread
std::size_t sample_mesh(RawCloud& cloud);

/// The name without its folders, for sentences.
std::string file_name(const std::string& path);

}  // namespace kerfwright
