#include "assimp_meshes.hpp"

#include <assimp/mesh.h>
#include <assimp/scene.h>

#include <assimp/Importer.hpp>

namespace kerfwright {

bool read_with_assimp(std::string_view bytes, const std::string& kind,
                      const std::function<void(const aiMesh&)>& take) {
  Assimp::Importer importer;
  // Assimp turns its own exceptions, running out of memory among them, into a null scene.
  const aiScene* scene = importer.ReadFileFromMemory(bytes.data(), bytes.size(), 0, kind.c_str());
  if (scene == nullptr) return false;
  for (unsigned i = 0; i < scene->mNumMeshes; ++i) take(*scene->mMeshes[i]);
  return true;
}

std::string mesh_name(const aiMesh& mesh) { return mesh.mName.C_Str(); }

bool append_mesh(const aiMesh& mesh, const Eigen::Affine3d& place, RawCloud& cloud) {
  const auto first = static_cast<std::uint32_t>(cloud.points.size());
  for (unsigned i = 0; i < mesh.mNumVertices; ++i) {
    const aiVector3D& v = mesh.mVertices[i];
    cloud.points.emplace_back(place * Eigen::Vector3f(v.x, v.y, v.z).cast<double>());
  }
  for (unsigned f = 0; f < mesh.mNumFaces; ++f) {
    const aiFace& face = mesh.mFaces[f];
    for (unsigned i = 0; i < face.mNumIndices; ++i)
      if (face.mIndices[i] >= mesh.mNumVertices) return false;
    for (unsigned i = 2; i < face.mNumIndices; ++i)
      cloud.triangles.push_back(
          {first + face.mIndices[0], first + face.mIndices[i - 1], first + face.mIndices[i]});
  }
  return true;
}

}  // namespace kerfwright
