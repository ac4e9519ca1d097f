#include "gltf_file.hpp"

#include <algorithm>
#include <array>
#include <optional>

#include "kerfwright/error.hpp"
#include "kerfwright/files.hpp"
#include "little_endian.hpp"
#include "raw_cloud.hpp"

// Khronos Group, "glTF 2.0 Specification", version 2.0.1: chunks of a GLB in section 4.4, buffers,
// views and accessors in 3.6. Everything is checked here before Assimp sees it, since Assimp
// believes ranges and counts.

namespace kerfwright {
namespace {

constexpr std::size_t glb_head = 12;
constexpr std::size_t chunk_head = 8;
constexpr std::uint32_t json_chunk = 0x4E4F534A;
constexpr std::uint32_t bin_chunk = 0x004E4942;

struct Chunks {
  std::string_view json;
  std::string_view bin;
};

Chunks split_glb(const std::string& path, std::string_view bytes) {
  if (bytes.size() < glb_head + chunk_head) gltf_damaged(path, "the GLB breaks off in its head");
  if (little_endian<std::uint32_t>(bytes, 4) != 2)
    throw UserError(Fault::unknown_format, file_name(path) +
                                               " is a GLB of another version than 2, which is not "
                                               "read here; export the scan as GLB 2.0 or PLY.");
  const std::uint32_t length = little_endian<std::uint32_t>(bytes, 8);
  if (length > bytes.size())
    gltf_damaged(path, "the GLB promises " + std::to_string(length) + " bytes and has " +
                           std::to_string(bytes.size()));
  Chunks chunks;
  std::string_view rest = bytes.substr(glb_head, length < glb_head ? 0 : length - glb_head);
  for (bool first = true; rest.size() >= chunk_head; first = false) {
    const std::uint32_t size = little_endian<std::uint32_t>(rest, 0);
    const std::uint32_t kind = little_endian<std::uint32_t>(rest, 4);
    if (size > rest.size() - chunk_head) gltf_damaged(path, "a chunk of the GLB is cut short");
    if (first != (kind == json_chunk)) gltf_damaged(path, "the GLB does not begin with its JSON");
    if (first) chunks.json = rest.substr(chunk_head, size);
    if (kind == bin_chunk && chunks.bin.empty()) chunks.bin = rest.substr(chunk_head, size);
    rest.remove_prefix(chunk_head + size);
  }
  return chunks;
}

/// Six bits of a base64 digit (RFC 4648, section 4), or -1.
int base64_digit(char c) {
  constexpr std::string_view digits =
      "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
  const std::size_t at = digits.find(c);
  return at == std::string_view::npos ? -1 : static_cast<int>(at);
}

std::optional<std::string> decode_base64(std::string_view text) {
  while (!text.empty() && text.back() == '=') text.remove_suffix(1);
  std::string bytes;
  bytes.reserve(text.size() / 4 * 3 + 2);
  std::uint32_t held = 0;
  int bits = 0;
  for (const char c : text) {
    const int digit = base64_digit(c);
    if (digit < 0) return std::nullopt;
    held = (held << 6) | static_cast<std::uint32_t>(digit);
    bits += 6;
    if (bits < 8) continue;
    bits -= 8;
    bytes += static_cast<char>((held >> bits) & 0xFFU);
  }
  return bytes;
}

std::optional<int> hex_digit(char c) {
  if (c >= '0' && c <= '9') return c - '0';
  if (c >= 'a' && c <= 'f') return c - 'a' + 10;
  if (c >= 'A' && c <= 'F') return c - 'A' + 10;
  return std::nullopt;
}

/// "my%20scan.bin" as "my scan.bin"; a percent sign that introduces nothing stays.
std::string unescaped(std::string_view uri) {
  std::string name;
  for (std::size_t i = 0; i < uri.size(); ++i) {
    const auto high = uri[i] == '%' && i + 2 < uri.size() ? hex_digit(uri[i + 1]) : std::nullopt;
    const auto low = high ? hex_digit(uri[i + 2]) : std::nullopt;
    name += low ? static_cast<char>(*high * 16 + *low) : uri[i];
    if (low) i += 2;
  }
  return name;
}

/// Only what lies in the folder of the file or below it: a scan must not make the program read
/// anything else.
bool stays_in_folder(std::string_view name) {
  if (name.empty() || name.front() == '/' ||
      name.find_first_of(std::string_view(":\\\0", 3)) != std::string_view::npos)
    return false;
  while (!name.empty()) {
    const std::size_t slash = std::min(name.find('/'), name.size());
    if (name.substr(0, slash) == "..") return false;
    name.remove_prefix(std::min(slash + 1, name.size()));
  }
  return true;
}

std::string read_beside(const std::string& path, const std::string& uri) {
  const std::string name = unescaped(uri);
  if (!stays_in_folder(name))
    throw UserError(Fault::damaged_file,
                    file_name(path) +
                        ": it wants data from a place that is not its own folder, and that is not "
                        "followed; export the scan as one GLB file.");
  const std::string folder = path.substr(0, path.size() - file_name(path).size());
  try {
    return read_file(folder + name);
  } catch (const UserError&) {
    throw UserError(Fault::no_file, file_name(path) + ": the file " + name +
                                        " with its points cannot be read; put it beside it, or "
                                        "export the scan as one GLB file.");
  }
}

std::string load_buffer(const nlohmann::json& buffer, std::string_view bin, bool first,
                        const std::string& path) {
  const std::uint64_t length = gltf_number(buffer, "byteLength", 0, path);
  const auto found = buffer.find("uri");
  std::string bytes;
  if (found == buffer.end()) {
    bytes = std::string(first ? bin : std::string_view{});
  } else if (!found->is_string()) {
    gltf_damaged(path, "a buffer has an address that is no text");
  } else if (const auto& uri = found->get_ref<const std::string&>(); uri.starts_with("data:")) {
    const std::size_t comma = uri.find(";base64,");
    const auto decoded = comma == std::string::npos
                             ? std::nullopt
                             : decode_base64(std::string_view(uri).substr(comma + 8));
    if (!decoded) gltf_damaged(path, "a buffer that the file holds as text cannot be read");
    bytes = *decoded;
  } else {
    bytes = read_beside(path, uri);
  }
  if (length > bytes.size())
    gltf_damaged(path, "a buffer should have " + std::to_string(length) + " bytes and has " +
                           std::to_string(bytes.size()));
  bytes.resize(length);
  return bytes;
}

void check_version(const nlohmann::json& json, const std::string& path) {
  const auto asset = json.find("asset");
  if (asset == json.end() || !asset->is_object() || !asset->contains("version"))
    gltf_damaged(path, "the file names no version of glTF");
  const auto& version = (*asset)["version"];
  if (!version.is_string() || !version.get_ref<const std::string&>().starts_with("2."))
    throw UserError(Fault::unknown_format,
                    file_name(path) +
                        " is of another version of glTF than 2, which is not read here; export the "
                        "scan as glTF 2.0, GLB or PLY.");
}

}  // namespace

void gltf_damaged(const std::string& path, const std::string& what) {
  throw UserError(Fault::damaged_file,
                  file_name(path) + ": " + what + "; copy or export the scan again.");
}

void gltf_packed(const std::string& path, const std::string& what) {
  throw UserError(Fault::unknown_format,
                  file_name(path) + ": " + what +
                      ", which is not read here; export the scan without compression, or as PLY.");
}

std::uint64_t gltf_number(const nlohmann::json& object, const char* key, std::uint64_t otherwise,
                          const std::string& path) {
  if (!object.is_object()) gltf_damaged(path, "a part of the glTF file is of the wrong kind");
  const auto found = object.find(key);
  if (found == object.end()) return otherwise;
  constexpr std::uint64_t most = std::uint64_t{1} << 40;
  if (!found->is_number_unsigned() || found->get<std::uint64_t>() > most)
    gltf_damaged(path, std::string(key) + " of the glTF file is no sound number");
  return found->get<std::uint64_t>();
}

const nlohmann::json& gltf_item(const GltfFile& file, const char* key, std::uint64_t index,
                                const std::string& path) {
  const auto list = file.json.find(key);
  if (list == file.json.end() || !list->is_array() || index >= list->size())
    gltf_damaged(path, "the glTF file points at number " + std::to_string(index) + " of its " +
                           key + ", which is not there");
  return (*list)[index];
}

GltfFile open_gltf(const std::string& path, std::string_view bytes) {
  const bool glb = bytes.starts_with("glTF");
  const Chunks chunks = glb ? split_glb(path, bytes) : Chunks{bytes, {}};
  GltfFile file;
  file.json = nlohmann::json::parse(chunks.json, nullptr, false);
  if (!file.json.is_object()) gltf_damaged(path, "the JSON of the glTF file cannot be read");
  check_version(file.json, path);
  const auto buffers = file.json.find("buffers");
  if (buffers == file.json.end() || !buffers->is_array()) return file;
  for (const auto& buffer : *buffers)
    file.buffers.push_back(load_buffer(buffer, chunks.bin, file.buffers.empty(), path));
  return file;
}

GltfView gltf_view(const GltfFile& file, std::uint64_t index, const std::string& path) {
  const auto& json = gltf_item(file, "bufferViews", index, path);
  GltfView view;
  view.buffer = gltf_number(json, "buffer", file.buffers.size(), path);
  view.offset = gltf_number(json, "byteOffset", 0, path);
  view.length = gltf_number(json, "byteLength", 0, path);
  view.stride = gltf_number(json, "byteStride", 0, path);
  if (json.contains("extensions") && json["extensions"].contains("EXT_meshopt_compression"))
    gltf_packed(path, "its points are packed (EXT_meshopt_compression)");
  if (view.buffer >= file.buffers.size() ||
      view.offset + view.length > file.buffers[view.buffer].size())
    gltf_damaged(path, "a view of the glTF file reaches beyond its buffer");
  return view;
}

GltfAccessor gltf_accessor(const GltfFile& file, std::uint64_t index, const std::string& path) {
  const auto& json = gltf_item(file, "accessors", index, path);
  GltfAccessor accessor;
  constexpr std::uint64_t none = std::uint64_t{1} << 41;
  const std::uint64_t view_index = gltf_number(json, "bufferView", none, path);
  if (json.contains("sparse") || view_index == none)
    gltf_packed(path, "its points are given as differences (sparse accessors)");
  accessor.view = view_index;
  accessor.offset = gltf_number(json, "byteOffset", 0, path);
  accessor.count = gltf_number(json, "count", 0, path);
  accessor.component = gltf_number(json, "componentType", 0, path);
  if (json.contains("type") && json["type"].is_string()) accessor.type = json["type"];
  const std::uint64_t single = accessor.component == 5121 ? 1 : accessor.component == 5123 ? 2 : 4;
  const std::uint64_t element = accessor.type == "VEC3" ? 3 * single : single;
  const GltfView view = gltf_view(file, view_index, path);
  const std::uint64_t stride = view.stride == 0 ? element : view.stride;
  if (accessor.count == 0 || stride < element || stride > 252 || accessor.count > view.length ||
      accessor.offset + (accessor.count - 1) * stride + element > view.length)
    gltf_damaged(path, "an accessor of the glTF file reaches beyond its view");
  return accessor;
}

}  // namespace kerfwright
