#pragma once

#include <Eigen/Geometry>
#include <functional>
#include <string>
#include <string_view>

#include "raw_cloud.hpp"

struct aiMesh;

namespace kerfwright {

/// Hands every mesh that Assimp finds in `bytes` to `take`; nothing is changed or joined on the
/// way, and Assimp opens no file.
/// @param kind the ending by which Assimp knows the format, such as "stl"
/// @returns false where Assimp cannot read the bytes
bool read_with_assimp(std::string_view bytes, const std::string& kind,
                      const std::function<void(const aiMesh&)>& take);

std::string mesh_name(const aiMesh& mesh);

/// Adds the corners of a mesh, moved by `place`, and its faces as triangles; corners of a face that
/// has fewer than three stay points.
/// @returns false where a face names a corner that is not there
bool append_mesh(const aiMesh& mesh, const Eigen::Affine3d& place, RawCloud& cloud);

}  // namespace kerfwright
