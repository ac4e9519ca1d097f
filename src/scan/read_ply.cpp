#include <pcl/PolygonMesh.h>
#include <pcl/console/print.h>
#include <pcl/io/ply_io.h>

#include "kerfwright/error.hpp"
#include "pcl_blob.hpp"
#include "ply_header.hpp"
#include "raw_cloud.hpp"

namespace kerfwright {
namespace {

[[noreturn]] void breaks_off(const std::string& path, const PlyHeader& header, std::size_t bytes) {
  throw UserError(Fault::damaged_file,
                  file_name(path) + ": the header promises " + std::to_string(header.vertices) +
                      " points, but the " + std::to_string(bytes - header.body) +
                      " bytes after it do not hold them; the file breaks off or is damaged: copy "
                      "or export it again.");
}

/// PCL may throw as well as return a code on a file that ends inside a list.
bool read_with_pcl(const std::string& path, pcl::PolygonMesh& mesh) {
  pcl::console::setVerbosityLevel(pcl::console::L_ALWAYS);
  pcl::PLYReader reader;
  try {
    return reader.read(path, mesh) == 0;
  } catch (const std::exception&) {
    return false;
  }
}

/// @returns false where a face names a point that is not there
bool take_triangles(const pcl::PolygonMesh& mesh, RawCloud& cloud) {
  for (const pcl::Vertices& face : mesh.polygons) {
    for (const auto corner : face.vertices)
      if (static_cast<std::uint32_t>(corner) >= cloud.points.size()) return false;
    for (std::size_t i = 2; i < face.vertices.size(); ++i)
      cloud.triangles.push_back({static_cast<std::uint32_t>(face.vertices[0]),
                                 static_cast<std::uint32_t>(face.vertices[i - 1]),
                                 static_cast<std::uint32_t>(face.vertices[i])});
  }
  return true;
}

}  // namespace

RawCloud read_ply(const std::string& path, std::string_view bytes) {
  const PlyHeader header = parse_ply_header(path, bytes);
  const double held = static_cast<double>(bytes.size() - header.body);
  if (header.least_body() > held) breaks_off(path, header, bytes.size());
  pcl::PolygonMesh mesh;
  if (!read_with_pcl(path, mesh)) breaks_off(path, header, bytes.size());
  RawCloud cloud;
  take_coordinates(mesh.cloud, path, cloud);
  // A PLY with "obj_info num_cols" is a grid of rays, and PCL fills its holes with nan.
  cloud.organised = cloud.points.size() != header.vertices;
  if (!take_triangles(mesh, cloud))
    throw UserError(Fault::damaged_file,
                    file_name(path) + ": a face names a point that is not there; export it again.");
  return cloud;
}

}  // namespace kerfwright
