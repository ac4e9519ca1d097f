#pragma once

#include <cstdint>
#include <nlohmann/json.hpp>
#include <string>
#include <string_view>
#include <vector>

namespace kerfwright {

/// A glTF 2.0 file taken apart: its JSON and its buffers, from the chunks of a GLB, from data URIs
/// or from files in the same folder or below it.
struct GltfFile {
  nlohmann::json json;
  std::vector<std::string> buffers;
};

/// @throws UserError damaged_file, unknown_format (another version), no_file (a buffer is missing)
GltfFile open_gltf(const std::string& path, std::string_view bytes);

/// The elements that an accessor of the file names, checked to lie wholly in its buffer.
struct GltfAccessor {
  std::size_t view = 0;         ///< number of the bufferView
  std::uint64_t offset = 0;     ///< bytes into the view
  std::uint64_t count = 0;      ///< elements
  std::uint64_t component = 0;  ///< 5121, 5123, 5125 whole numbers of 1, 2, 4 bytes, 5126 float
  std::string type;             ///< SCALAR, VEC3 and so on
};

/// The bytes that a bufferView of the file names.
struct GltfView {
  std::size_t buffer = 0;
  std::uint64_t offset = 0;
  std::uint64_t length = 0;
  std::uint64_t stride = 0;  ///< 0 where elements follow each other closely
};

/// @throws UserError damaged_file, unknown_format where they are packed in a way of an extension
GltfView gltf_view(const GltfFile& file, std::uint64_t index, const std::string& path);
GltfAccessor gltf_accessor(const GltfFile& file, std::uint64_t index, const std::string& path);

/// Member `key` of an object as a whole number; `otherwise` where it is missing.
/// @throws UserError damaged_file where it is something else
std::uint64_t gltf_number(const nlohmann::json& object, const char* key, std::uint64_t otherwise,
                          const std::string& path);

/// Element `index` of the file's array `key`.
/// @throws UserError damaged_file where there is none
const nlohmann::json& gltf_item(const GltfFile& file, const char* key, std::uint64_t index,
                                const std::string& path);

[[noreturn]] void gltf_damaged(const std::string& path, const std::string& what);
[[noreturn]] void gltf_packed(const std::string& path, const std::string& what);

}  // namespace kerfwright
