#include <Eigen/Geometry>
#include <charconv>
#include <map>
#include <optional>

#include "assimp_meshes.hpp"
#include "gltf_file.hpp"
#include "kerfwright/error.hpp"
#include "raw_cloud.hpp"

// Assimp decodes vertices and faces; nodes are placed here, in double, because Assimp rounds their
// matrices to float, and a surveyed scan has its 10^6 m in them.

namespace kerfwright {
namespace {

using Json = nlohmann::json;

constexpr std::uint64_t deepest_node = 256;
/// A few bytes of JSON can name the same vertices a million times.
constexpr std::uint64_t most_vertices = 50'000'000;

struct Instance {
  std::uint64_t mesh = 0;
  Eigen::Affine3d place = Eigen::Affine3d::Identity();
};

/// A primitive of a mesh: points, or triangles in one of three ways.
struct Piece {
  std::uint64_t positions = 0;           ///< number of an accessor
  std::optional<std::uint64_t> indices;  ///< number of an accessor
  std::uint64_t mode = 4;
};

Eigen::VectorXd numbers(const Json& node, const char* key, std::size_t count,
                        const std::string& path) {
  const Json& list = node[key];
  if (!list.is_array() || list.size() != count)
    gltf_damaged(path, std::string("a node of the glTF file has a ") + key + " of no sound length");
  Eigen::VectorXd values(static_cast<Eigen::Index>(count));
  for (std::size_t i = 0; i < count; ++i) {
    if (!list[i].is_number())
      gltf_damaged(path, std::string("a node of the glTF file has a ") + key + " without numbers");
    values[static_cast<Eigen::Index>(i)] = list[i].get<double>();
  }
  return values;
}

/// A node is moved by a matrix (columns first), or scaled, then turned, then shifted.
Eigen::Affine3d placing(const Json& node, const std::string& path) {
  Eigen::Affine3d place = Eigen::Affine3d::Identity();
  if (node.contains("matrix")) {
    const Eigen::VectorXd m = numbers(node, "matrix", 16, path);
    place.matrix() = Eigen::Map<const Eigen::Matrix4d>(m.data());
    return place;
  }
  if (node.contains("translation"))
    place.translate(Eigen::Vector3d(numbers(node, "translation", 3, path)));
  if (node.contains("rotation")) {
    const Eigen::VectorXd q = numbers(node, "rotation", 4, path);
    place.rotate(Eigen::Quaterniond(q[3], q[0], q[1], q[2]).normalized());
  }
  if (node.contains("scale")) place.scale(Eigen::Vector3d(numbers(node, "scale", 3, path)));
  return place;
}

std::vector<std::uint64_t> index_list(const Json& object, const char* key,
                                      const std::string& path) {
  std::vector<std::uint64_t> list;
  if (!object.is_object() || !object.contains(key)) return list;
  if (!object[key].is_array()) gltf_damaged(path, "a list of the glTF file is none");
  for (const Json& item : object[key]) {
    if (!item.is_number_unsigned()) gltf_damaged(path, "a list of the glTF file has a gap");
    list.push_back(item.get<std::uint64_t>());
  }
  return list;
}

/// The nodes that the scene begins with; a file without a scene begins with those that nobody has.
std::vector<std::uint64_t> root_nodes(const GltfFile& file, const std::string& path) {
  if (file.json.contains("scenes")) {
    const std::uint64_t scene = gltf_number(file.json, "scene", 0, path);
    return index_list(gltf_item(file, "scenes", scene, path), "nodes", path);
  }
  if (!file.json.contains("nodes") || !file.json["nodes"].is_array()) return {};
  std::vector<bool> is_child(file.json["nodes"].size());
  for (const Json& node : file.json["nodes"])
    for (const std::uint64_t child : index_list(node, "children", path))
      if (child < is_child.size()) is_child[child] = true;
  std::vector<std::uint64_t> roots;
  for (std::size_t i = 0; i < is_child.size(); ++i)
    if (!is_child[i]) roots.push_back(i);
  return roots;
}

struct Visit {
  std::uint64_t node = 0;
  std::uint64_t depth = 0;
  Eigen::Affine3d place = Eigen::Affine3d::Identity();
};

/// Every mesh of the scene with its place. A node has one parent; a file where it has two might go
/// round in a ring.
std::vector<Instance> placed_meshes(const GltfFile& file, const std::string& path) {
  std::vector<Instance> instances;
  std::vector<Visit> open;
  for (const std::uint64_t root : root_nodes(file, path)) open.push_back({.node = root});
  std::vector<bool> visited;
  while (!open.empty()) {
    const Visit visit = open.back();
    open.pop_back();
    const Json& node = gltf_item(file, "nodes", visit.node, path);
    visited.resize(file.json["nodes"].size());
    if (visited[visit.node] || visit.depth > deepest_node)
      gltf_damaged(path, "the nodes of the glTF file go round in a ring");
    visited[visit.node] = true;
    constexpr std::uint64_t none = std::uint64_t{1} << 41;
    const std::uint64_t mesh = gltf_number(node, "mesh", none, path);
    const Eigen::Affine3d place = visit.place * placing(node, path);
    if (mesh != none) instances.push_back({mesh, place});
    for (const std::uint64_t child : index_list(node, "children", path))
      open.push_back({child, visit.depth + 1, place});
  }
  return instances;
}

void check_positions(const GltfFile& file, const Piece& piece, const std::string& path) {
  const GltfAccessor positions = gltf_accessor(file, piece.positions, path);
  if (positions.component != 5126)
    gltf_packed(path, "its points are packed into whole numbers (KHR_mesh_quantization)");
  if (positions.type != "VEC3") gltf_damaged(path, "the points of the glTF file are no points");
  if (!piece.indices) return;
  const GltfAccessor indices = gltf_accessor(file, *piece.indices, path);
  if (indices.type != "SCALAR" ||
      (indices.component != 5121 && indices.component != 5123 && indices.component != 5125))
    gltf_damaged(path, "the faces of the glTF file are no whole numbers");
}

std::uint64_t corner_count(const GltfFile& file, const Piece& piece, const std::string& path) {
  return gltf_accessor(file, piece.indices.value_or(piece.positions), path).count;
}

/// Lines are no surface and are passed over.
std::optional<Piece> read_piece(const GltfFile& file, const Json& primitive,
                                const std::string& path) {
  Piece piece;
  piece.mode = gltf_number(primitive, "mode", 4, path);
  if (piece.mode > 6) gltf_damaged(path, "a mesh of the glTF file is of no known mode");
  if (primitive.contains("extensions") &&
      primitive["extensions"].contains("KHR_draco_mesh_compression"))
    gltf_packed(path, "its mesh is packed (KHR_draco_mesh_compression)");
  if (!primitive.contains("attributes") || !primitive["attributes"].is_object() ||
      !primitive["attributes"].contains("POSITION") || (piece.mode >= 1 && piece.mode <= 3))
    return std::nullopt;
  piece.positions = gltf_number(primitive["attributes"], "POSITION", 0, path);
  if (primitive.contains("indices")) piece.indices = gltf_number(primitive, "indices", 0, path);
  check_positions(file, piece, path);
  if (piece.mode != 0 && corner_count(file, piece, path) < 3) return std::nullopt;
  return piece;
}

std::vector<Piece> pieces_of(const GltfFile& file, std::uint64_t mesh, const std::string& path) {
  const Json& json = gltf_item(file, "meshes", mesh, path);
  std::vector<Piece> pieces;
  if (!json.is_object() || !json.contains("primitives") || !json["primitives"].is_array())
    gltf_damaged(path, "a mesh of the glTF file has no parts");
  for (const Json& primitive : json["primitives"])
    if (const auto piece = read_piece(file, primitive, path)) pieces.push_back(*piece);
  return pieces;
}

/// Writes a GLB of nothing but meshes of one primitive, for Assimp: no pictures, no files beside,
/// no nodes that could ring, and only ranges that were checked.
class PlainGlb {
 public:
  PlainGlb(const GltfFile& file, const std::string& path) : file_(file), path_(path) {
    for (const char* key : {"nodes", "meshes", "accessors", "bufferViews"})
      json_[key] = Json::array();
    json_["asset"]["version"] = "2.0";
    json_["scene"] = 0;
    json_["scenes"] = Json::array({{{"nodes", Json::array()}}});
  }

  /// @returns the name under which Assimp will hand the piece out
  std::string add(const Piece& piece) {
    const std::size_t number = json_["meshes"].size();
    Json primitive{{"mode", piece.mode}};
    primitive["attributes"]["POSITION"] = accessor(piece.positions);
    if (piece.indices) primitive["indices"] = accessor(*piece.indices);
    const std::string name = std::to_string(number);
    json_["meshes"].push_back({{"name", name}, {"primitives", Json::array({primitive})}});
    json_["nodes"].push_back({{"mesh", number}});
    json_["scenes"][0]["nodes"].push_back(number);
    return name;
  }

  std::string bytes() {
    json_["buffers"] = Json::array({{{"byteLength", bin_.size()}}});
    std::string text = json_.dump();
    text.resize((text.size() + 3) / 4 * 4, ' ');
    std::string glb = "glTF";
    add_word(glb, 2);
    add_word(glb, 28 + text.size() + bin_.size());
    add_word(glb, text.size());
    glb += "JSON" + text;
    add_word(glb, bin_.size());
    glb += std::string("BIN\0", 4);
    return glb += bin_;
  }

 private:
  static void add_word(std::string& glb, std::uint64_t value) {
    for (int shift = 0; shift < 32; shift += 8) glb += static_cast<char>((value >> shift) & 0xFFU);
  }

  std::size_t accessor(std::uint64_t index) {
    const auto known = accessors_.find(index);
    if (known != accessors_.end()) return known->second;
    const GltfAccessor from = gltf_accessor(file_, index, path_);
    const std::size_t number = accessors_.size();
    json_["accessors"].push_back({{"bufferView", view(from.view)},
                                  {"byteOffset", from.offset},
                                  {"count", from.count},
                                  {"componentType", from.component},
                                  {"type", from.type}});
    return accessors_[index] = number;
  }

  std::size_t view(std::uint64_t index) {
    const auto known = views_.find(index);
    if (known != views_.end()) return known->second;
    const GltfView from = gltf_view(file_, index, path_);
    const std::size_t number = views_.size();
    Json json{{"buffer", 0}, {"byteOffset", bin_.size()}, {"byteLength", from.length}};
    if (from.stride != 0) json["byteStride"] = from.stride;
    json_["bufferViews"].push_back(json);
    bin_.append(file_.buffers[from.buffer], from.offset, from.length);
    bin_.resize((bin_.size() + 3) / 4 * 4, '\0');
    return views_[index] = number;
  }

  const GltfFile& file_;
  const std::string& path_;
  Json json_;
  std::string bin_;
  std::map<std::uint64_t, std::size_t> accessors_;
  std::map<std::uint64_t, std::size_t> views_;
};

using Places = std::map<std::string, std::vector<Eigen::Affine3d>>;

/// The plain GLB, and where each of its pieces stands.
std::string plain_glb(const std::string& path, std::string_view bytes, Places& places) {
  const GltfFile file = open_gltf(path, bytes);
  PlainGlb glb(file, path);
  std::map<std::uint64_t, std::vector<std::pair<std::string, std::uint64_t>>> known;
  std::uint64_t vertices = 0;
  for (const Instance& instance : placed_meshes(file, path)) {
    const auto [entry, is_new] = known.try_emplace(instance.mesh);
    if (is_new)
      for (const Piece& piece : pieces_of(file, instance.mesh, path))
        entry->second.emplace_back(
            glb.add(piece),
            gltf_accessor(file, piece.positions, path).count + corner_count(file, piece, path));
    for (const auto& [name, size] : entry->second) {
      places[name].push_back(instance.place);
      vertices += size;
      if (vertices > most_vertices)
        gltf_damaged(
            path, "the scene would have more than " + std::to_string(most_vertices) + " corners");
    }
  }
  return places.empty() ? std::string() : glb.bytes();
}

}  // namespace

RawCloud read_gltf(const std::string& path, std::string_view bytes) {
  Places places;
  const std::string glb = plain_glb(path, bytes, places);
  if (places.empty())
    throw UserError(Fault::empty_file,
                    file_name(path) +
                        ": the scene of the glTF file holds no mesh and no points; check what was "
                        "selected when the scan was exported.");
  RawCloud cloud;
  std::size_t pieces = 0;
  bool sound = true;
  const bool read = read_with_assimp(glb, "glb", [&](const aiMesh& mesh) {
    const auto found = places.find(mesh_name(mesh));
    if (found == places.end()) return;
    ++pieces;
    for (const Eigen::Affine3d& place : found->second)
      sound = append_mesh(mesh, place, cloud) && sound;
  });
  if (!read || pieces != places.size())
    gltf_damaged(path, "the meshes of the glTF file cannot be read");
  if (!sound) gltf_damaged(path, "a face of the glTF file has a corner that is not there");
  return cloud;
}

}  // namespace kerfwright
