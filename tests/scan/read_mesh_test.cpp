#include <gtest/gtest.h>

#include <cmath>

#include "scan_files.hpp"

namespace kerfwright {
namespace {

using Corner = Eigen::Vector3d;
using Facets = std::vector<std::array<Corner, 3>>;

/// A strip 4 m long and 1 m wide in the plane z = 0.5, of one large and many small triangles: the
/// left half two triangles, the right half 200.
Facets uneven_strip() {
  Facets facets{{Corner(0, 0, 0.5), Corner(2, 0, 0.5), Corner(2, 1, 0.5)},
                {Corner(0, 0, 0.5), Corner(2, 1, 0.5), Corner(0, 1, 0.5)}};
  for (int i = 0; i < 100; ++i) {
    const double x = 2.0 + i * 0.02;
    facets.push_back({Corner(x, 0, 0.5), Corner(x + 0.02, 0, 0.5), Corner(x + 0.02, 1, 0.5)});
    facets.push_back({Corner(x, 0, 0.5), Corner(x + 0.02, 1, 0.5), Corner(x, 1, 0.5)});
  }
  return facets;
}

std::string binary_stl(const Facets& facets, const std::string& head = "made by a test") {
  std::string bytes = head;
  bytes.resize(80, ' ');
  bytes += bytes_of(static_cast<std::uint32_t>(facets.size()));
  for (const auto& facet : facets)
    bytes += std::string(12, '\0') + binary_rows<float>({facet[0], facet[1], facet[2]}) +
             std::string(2, '\0');
  return bytes;
}

std::string ascii_stl(const Facets& facets, const std::string& end = "\n") {
  std::string text = "solid log" + end;
  for (const auto& facet : facets) {
    text += " facet normal 0 0 1" + end + "  outer loop" + end;
    text += "   vertex " + ascii_rows({facet[0]}, " ", "", end);
    text += "   vertex " + ascii_rows({facet[1]}, " ", "", end);
    text += "   vertex " + ascii_rows({facet[2]}, " ", "", end);
    text += "  endloop" + end + " endfacet" + end;
  }
  return text + "endsolid log" + end;
}

/// Even over the strip: every metre of it has a quarter of the points, within four standard
/// deviations of a fair draw, and no point lies off it.
void expect_even_strip(const Scan& scan, const Eigen::Vector3d& shift = {0, 0, 0}) {
  ASSERT_GE(scan.points.size(), 200000U);
  std::array<double, 4> quarters{};
  for (const Eigen::Vector3d& p : in_file(scan)) {
    const Eigen::Vector3d at = p - shift;
    ASSERT_NEAR(at.z(), 0.5, 1e-5);
    ASSERT_TRUE(at.x() > -1e-5 && at.x() < 4.00001 && at.y() > -1e-5 && at.y() < 1.00001);
    quarters[static_cast<std::size_t>(std::clamp(at.x(), 0.0, 3.999))] += 1.0;
  }
  const double n = static_cast<double>(scan.points.size());
  for (const double quarter : quarters)
    EXPECT_NEAR(quarter, n / 4.0, 4.0 * std::sqrt(n * 3.0 / 16.0));
}

TEST(ReadStl, SpreadsPointsEvenlyOverABinaryOne) {
  const Scan scan = read_text("a.stl", binary_stl(uneven_strip()));
  expect_even_strip(scan);
  EXPECT_EQ(scan.source.points, 3 * uneven_strip().size());
  EXPECT_TRUE(has_note(scan, "200000 points"));
  EXPECT_TRUE(has_note(scan, "202 triangles"));
  EXPECT_EQ(scan.points, read_text("again.stl", binary_stl(uneven_strip())).points);
}

TEST(ReadStl, ReadsABinaryOneThatCallsItselfSolidAndOneOfAnotherName) {
  expect_even_strip(read_text("a.stl", binary_stl(uneven_strip(), "solid log")));
  expect_even_strip(read_text("a.bin", binary_stl(uneven_strip())));
}

TEST(ReadStl, ReadsTextWithAnyLineEnd) {
  expect_even_strip(read_text("a.stl", ascii_stl(uneven_strip())));
  expect_even_strip(read_text("a.stl", ascii_stl(uneven_strip(), "\r\n")));
  std::string upper = ascii_stl(uneven_strip());
  std::transform(upper.begin(), upper.end(), upper.begin(),
                 [](unsigned char c) { return static_cast<char>(std::toupper(c)); });
  expect_even_strip(read_text("a.stl", upper));
}

TEST(ReadStl, KeepsTheDigitsOfATextFarOut) {
  const Eigen::Vector3d far(4512345.1234, 5401234.4321, 312.0);
  Facets facets = uneven_strip();
  for (auto& facet : facets)
    for (Corner& corner : facet) corner += far;
  const Scan scan = read_text("far.stl", ascii_stl(facets));
  expect_even_strip(scan, far);
  EXPECT_FALSE(has_note(scan, "steps of"));
  EXPECT_TRUE(has_note(read_text("far.stl", binary_stl(facets)), "steps of 500 mm"));
}

TEST(ReadStl, RefusesWhatBreaksOff) {
  const std::string binary = binary_stl(uneven_strip());
  EXPECT_EQ(fault_of("a.stl", binary.substr(0, binary.size() - 1), "promises 202 facets"),
            Fault::damaged_file);
  EXPECT_EQ(fault_of("a.stl", binary.substr(0, 50)), Fault::damaged_file);
  EXPECT_EQ(fault_of("a.stl", std::string(80, ' ') + "\xff\xff\xff\xff" + binary.substr(84)),
            Fault::damaged_file);
  EXPECT_EQ(fault_of("a.stl", binary_stl({})), Fault::empty_file);
  const std::string text = ascii_stl(uneven_strip());
  EXPECT_EQ(fault_of("a.stl", text.substr(0, text.size() - 20)), Fault::damaged_file);
  EXPECT_EQ(fault_of("a.stl", text.substr(0, 2000)), Fault::damaged_file);
  EXPECT_EQ(fault_of("a.stl", "solid log\nendsolid log\n"), Fault::empty_file);
  EXPECT_EQ(
      fault_of("a.stl", "solid a\nfacet normal 0 0 1\nvertex 0 0\nendfacet\nendsolid\n", "line 3"),
      Fault::damaged_file);
  EXPECT_EQ(fault_of("a.stl", "solid a\nfacet normal 0 0 1\nvertex 0 0 0\nendfacet\nendsolid\n",
                     "line 4"),
            Fault::damaged_file);
}

TEST(ReadStl, RefusesCornersThatAreNoNumbers) {
  Facets facets = uneven_strip();
  facets[7][1].y() = std::nan("");
  EXPECT_EQ(fault_of("a.stl", binary_stl(facets)), Fault::bad_coordinates);
}

TEST(ReadMesh, LeavesAMeshWithoutAreaAsItsCorners) {
  std::string text = "solid log\n";
  for (const Corner& p : few_points())
    text += "facet normal 0 0 1\nouter loop\nvertex " + ascii_rows({p}) + "vertex " +
            ascii_rows({p}) + "vertex " + ascii_rows({p}) + "endloop\nendfacet\n";
  EXPECT_EQ(read_text("flat.stl", text + "endsolid log\n").points.size(), 12U);
}

/// A triangle, 1 m along x and y, in floats, then its three indices as 16-bit numbers.
std::string triangle_buffer() {
  return binary_rows<float>({{0, 0, 0}, {1, 0, 0}, {0, 1, 0}}) + bytes_of(std::uint16_t{0}) +
         bytes_of(std::uint16_t{1}) + bytes_of(std::uint16_t{2});
}

const std::string triangle_views =
    R"("bufferViews": [{"buffer": 0, "byteLength": 36},
                       {"buffer": 0, "byteOffset": 36, "byteLength": 6}],
       "accessors": [{"bufferView": 0, "componentType": 5126, "count": 3, "type": "VEC3"},
                     {"bufferView": 1, "componentType": 5123, "count": 3, "type": "SCALAR"}],)";

const std::string triangle_mesh =
    R"("meshes": [{"name": "x", "primitives": [{"attributes": {"POSITION": 0}, "indices": 1}]}],)";

/// A glTF whose buffer is given by `buffer`; `nodes` is the text of its node list and its scene.
std::string gltf_json(const std::string& buffer, const std::string& nodes,
                      const std::string& meshes = triangle_mesh,
                      const std::string& views = triangle_views) {
  return R"({"asset": {"version": "2.0"}, "buffers": [)" + buffer + "]," + views + meshes + nodes +
         "}";
}

const std::string own_buffer = R"({"byteLength": 42})";
const std::string one_node = R"("scene": 0, "scenes": [{"nodes": [0]}], "nodes": [{"mesh": 0}])";

std::string glb_of(std::string json, std::string bin = triangle_buffer()) {
  json.resize((json.size() + 3) / 4 * 4, ' ');
  bin.resize((bin.size() + 3) / 4 * 4, '\0');
  const auto word = [](std::size_t v) { return bytes_of(static_cast<std::uint32_t>(v)); };
  return "glTF" + word(2) + word(28 + json.size() + bin.size()) + word(json.size()) + "JSON" +
         json + word(bin.size()) + std::string("BIN\0", 4) + bin;
}

/// Where the points lie: their mean and how far they reach.
struct Spread {
  Eigen::Vector3d mean{0, 0, 0};
  Eigen::Vector3d low{1e300, 1e300, 1e300};
  Eigen::Vector3d high{-1e300, -1e300, -1e300};
};

Spread spread_of(const Scan& scan) {
  Spread spread;
  for (const Eigen::Vector3d& p : in_file(scan)) {
    spread.mean += p / static_cast<double>(scan.points.size());
    spread.low = spread.low.cwiseMin(p);
    spread.high = spread.high.cwiseMax(p);
  }
  return spread;
}

void expect_triangle(const Scan& scan) {
  const Spread spread = spread_of(scan);
  EXPECT_GE(scan.points.size(), 200000U);
  EXPECT_LT((spread.mean - Eigen::Vector3d(1.0 / 3.0, 1.0 / 3.0, 0)).norm(), 0.002);
  EXPECT_LT((spread.low - Eigen::Vector3d(0, 0, 0)).norm(), 0.01);
  EXPECT_LT((spread.high - Eigen::Vector3d(1, 1, 0)).norm(), 0.01);
}

TEST(ReadGltf, ReadsAGlb) {
  expect_triangle(read_text("a.glb", glb_of(gltf_json(own_buffer, one_node))));
}

TEST(ReadGltf, ReadsBuffersThatLieBesideItOrInIt) {
  scratch_file("the data.bin", triangle_buffer());
  expect_triangle(
      read_text("a.gltf", gltf_json(R"({"byteLength": 42, "uri": "the%20data.bin"})", one_node)));
  // The 42 bytes in base64, as any encoder gives them.
  expect_triangle(read_text(
      "b.gltf", gltf_json(R"({"byteLength": 42, "uri": "data:application/octet-stream;base64,)"
                          R"(AAAAAAAAAAAAAAAAAACAPwAAAAAAAAAAAAAAAAAAgD8AAAAAAAABAAIA"})",
                          one_node)));
}

TEST(ReadGltf, PlacesMeshesByTheNodesAboveThem) {
  // Half a turn about x after a stretch by two along y, then 10 m along x by the node above.
  const std::string nodes =
      R"("scene": 1, "scenes": [{"nodes": [3]}, {"nodes": [0]}],
         "nodes": [{"children": [1], "translation": [10, 0, 0]},
                   {"mesh": 0, "rotation": [1, 0, 0, 0], "scale": [1, 2, 1]},
                   {"mesh": 0}, {"mesh": 0}])";
  const Spread spread = spread_of(read_text("a.glb", glb_of(gltf_json(own_buffer, nodes))));
  EXPECT_LT((spread.low - Eigen::Vector3d(10, -2, 0)).norm(), 0.02);
  EXPECT_LT((spread.high - Eigen::Vector3d(11, 0, 0)).norm(), 0.02);
}

TEST(ReadGltf, TakesAMatrixByItsColumns) {
  const std::string nodes =
      R"("nodes": [{"mesh": 0, "matrix": [0,0,1,0, 0,1,0,0, -1,0,0,0, 5,6,7,1]}])";
  const Spread spread = spread_of(read_text("a.glb", glb_of(gltf_json(own_buffer, nodes))));
  EXPECT_LT((spread.low - Eigen::Vector3d(5, 6, 7)).norm(), 0.01);
  EXPECT_LT((spread.high - Eigen::Vector3d(5, 7, 8)).norm(), 0.01);
}

TEST(ReadGltf, TakesAllMeshesOfTheSceneByTheirArea) {
  const std::string nodes =
      R"("nodes": [{"mesh": 0}, {"mesh": 0, "translation": [5, 0, 0], "scale": [3, 1, 1]}])";
  const Scan scan = read_text("a.glb", glb_of(gltf_json(own_buffer, nodes)));
  double near = 0;
  for (const Eigen::Vector3d& p : in_file(scan)) near += p.x() < 2.0 ? 1.0 : 0.0;
  EXPECT_NEAR(near / static_cast<double>(scan.points.size()), 0.25, 0.005);
}

TEST(ReadGltf, KeepsTheDigitsOfNodesFarOut) {
  const std::string nodes = R"("nodes": [{"mesh": 0, "translation": [4512345.123, 0, 0]},
                                         {"mesh": 0, "translation": [4512347.248, 0, 0]}])";
  const Spread spread = spread_of(read_text("a.glb", glb_of(gltf_json(own_buffer, nodes))));
  EXPECT_NEAR(spread.low.x(), 4512345.123, 1e-4);
  EXPECT_NEAR(spread.high.x(), 4512348.248, 0.01);
}

TEST(ReadGltf, TakesPointsAsPoints) {
  const std::string mesh =
      R"("meshes": [{"primitives": [{"attributes": {"POSITION": 0}, "mode": 0}]}],)";
  const std::string views =
      R"("bufferViews": [{"buffer": 0, "byteLength": 48}],
         "accessors": [{"bufferView": 0, "componentType": 5126, "count": 4, "type": "VEC3"}],)";
  const Scan scan =
      read_text("a.glb", glb_of(gltf_json(R"({"byteLength": 48})", one_node, mesh, views),
                                binary_rows<float>(few_points())));
  expect_points(scan, few_points());
}

TEST(ReadGltf, ReadsStripsAndFansOfVerticesThatStandApart) {
  const std::vector<Corner> square{{0, 0, 0}, {1, 0, 0}, {0, 1, 0}, {1, 1, 0}};
  const std::vector<Corner> round{{0, 0, 0}, {1, 0, 0}, {1, 1, 0}, {0, 1, 0}};
  const std::string views =
      R"("bufferViews": [{"buffer": 0, "byteOffset": 4, "byteLength": 64, "byteStride": 16}],
         "accessors": [{"bufferView": 0, "componentType": 5126, "count": 4, "type": "VEC3"}],)";
  for (const int mode : {5, 6}) {
    const std::string mesh = R"("meshes": [{"primitives": [{"attributes": {"POSITION": 0},)"
                             R"("mode": )" +
                             std::to_string(mode) + "}]}],";
    const std::string bin = "head" + binary_rows<float>(mode == 5 ? square : round, false, "rgba");
    const Spread spread = spread_of(
        read_text("a.glb", glb_of(gltf_json(R"({"byteLength": 68})", one_node, mesh, views), bin)));
    EXPECT_LT((spread.mean - Eigen::Vector3d(0.5, 0.5, 0)).norm(), 0.002) << mode;
    EXPECT_LT((spread.high - Eigen::Vector3d(1, 1, 0)).norm(), 0.01) << mode;
  }
}

Fault json_fault(const std::string& json, const std::string& words = "") {
  return fault_of("a.glb", glb_of(json), words);
}

TEST(ReadGltf, ReadsNothingOutsideItsOwnFolder) {
  for (const std::string uri :
       {"../secret.bin", "/etc/hostname", "a/../../b.bin", "https://example.org/a.bin",
        "%2e%2e/a.bin", "..\\\\a.bin", "file:a.bin"})
    EXPECT_EQ(
        fault_of("a.gltf", gltf_json(R"({"byteLength": 42, "uri": ")" + uri + "\"}", one_node),
                 "not its own folder"),
        Fault::damaged_file)
        << uri;
  EXPECT_EQ(fault_of("a.gltf", gltf_json(R"({"byteLength": 42, "uri": "gone.bin"})", one_node),
                     "gone.bin"),
            Fault::no_file);
}

TEST(ReadGltf, RefusesRangesThatReachBeyondTheirBytes) {
  const auto with_views = [](const std::string& from, const std::string& to) {
    std::string views = triangle_views;
    views.replace(views.find(from), from.size(), to);
    return gltf_json(own_buffer, one_node, triangle_mesh, views);
  };
  EXPECT_EQ(json_fault(gltf_json(R"({"byteLength": 4200})", one_node)), Fault::damaged_file);
  EXPECT_EQ(json_fault(with_views("\"byteLength\": 36", "\"byteLength\": 44")),
            Fault::damaged_file);
  EXPECT_EQ(json_fault(with_views("\"count\": 3", "\"count\": 4")), Fault::damaged_file);
  EXPECT_EQ(json_fault(with_views("\"count\": 3", "\"count\": 18446744073709551615")),
            Fault::damaged_file);
  EXPECT_EQ(json_fault(with_views("\"count\": 3", "\"count\": -3")), Fault::damaged_file);
  EXPECT_EQ(json_fault(with_views("\"count\": 3", "\"byteOffset\": 1099511627776, \"count\": 3")),
            Fault::damaged_file);
  EXPECT_EQ(json_fault(with_views("\"bufferView\": 1", "\"bufferView\": 2")), Fault::damaged_file);
  EXPECT_EQ(json_fault(with_views("5123", "5125")), Fault::damaged_file);
}

TEST(ReadGltf, RefusesFacesWithCornersThatAreNotThere) {
  std::string bin = triangle_buffer();
  bin[40] = 3;
  EXPECT_EQ(fault_of("a.glb", glb_of(gltf_json(own_buffer, one_node), bin)), Fault::damaged_file);
}

TEST(ReadGltf, RefusesNodesThatGoRoundInARing) {
  EXPECT_EQ(json_fault(gltf_json(own_buffer, R"("scenes": [{"nodes": [0]}],
      "nodes": [{"mesh": 0, "children": [1]}, {"children": [0]}])")),
            Fault::damaged_file);
  EXPECT_EQ(json_fault(gltf_json(own_buffer, R"("scenes": [{"nodes": [7]}],
      "nodes": [{"mesh": 0}])")),
            Fault::damaged_file);
}

TEST(ReadGltf, RefusesAFewBytesThatWouldBecomeAFlood) {
  std::string primitives;
  for (int i = 0; i < 2000; ++i)
    primitives += std::string(i > 0 ? "," : "") + R"({"attributes": {"POSITION": 0}})";
  std::string nodes;
  for (int i = 0; i < 5000; ++i) nodes += std::string(i > 0 ? "," : "") + R"({"mesh": 0})";
  EXPECT_EQ(json_fault(gltf_json(own_buffer, "\"nodes\": [" + nodes + "]",
                                 "\"meshes\": [{\"primitives\": [" + primitives + "]}],")),
            Fault::damaged_file);
}

TEST(ReadGltf, SaysWhatToDoAboutPackedMeshes) {
  const std::string packed =
      R"("meshes": [{"primitives": [{"attributes": {"POSITION": 0}, "extensions":
         {"KHR_draco_mesh_compression": {"bufferView": 0}}}]}],)";
  EXPECT_EQ(json_fault(gltf_json(own_buffer, one_node, packed), "without compression"),
            Fault::unknown_format);
  std::string views = triangle_views;
  views.replace(views.find("5126"), 4, "5122");
  EXPECT_EQ(json_fault(gltf_json(own_buffer, one_node, triangle_mesh, views), "whole numbers"),
            Fault::unknown_format);
}

TEST(ReadGltf, RefusesBrokenContainersAndOtherVersions) {
  const std::string whole = glb_of(gltf_json(own_buffer, one_node));
  EXPECT_EQ(fault_of("a.glb", whole.substr(0, whole.size() - 1)), Fault::damaged_file);
  EXPECT_EQ(fault_of("a.glb", "glTF"), Fault::damaged_file);
  EXPECT_EQ(fault_of("a.glb", std::string(whole).replace(12, 4, "\xff\xff\xff\xff")),
            Fault::damaged_file);
  EXPECT_EQ(fault_of("a.glb", std::string(whole).replace(4, 1, "\1")), Fault::unknown_format);
  EXPECT_EQ(fault_of("a.glb", std::string(whole).replace(20, 1, "[")), Fault::damaged_file);
  EXPECT_EQ(fault_of("a.gltf", R"({"asset": {"version": "1.0"}})"), Fault::unknown_format);
  EXPECT_EQ(fault_of("a.gltf", R"({"asset": {"version": "2.0"}})"), Fault::empty_file);
  EXPECT_EQ(json_fault(gltf_json(own_buffer, R"("nodes": [{"name": "empty"}])")),
            Fault::empty_file);
}

}  // namespace
}  // namespace kerfwright
