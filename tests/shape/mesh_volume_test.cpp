// The meshed shape's volume by CGAL's Polygon_mesh_processing (GPL, in tests only) against our own
// sum.

#include <CGAL/Polygon_mesh_processing/measure.h>
#include <CGAL/Polygon_mesh_processing/orientation.h>
#include <CGAL/Simple_cartesian.h>
#include <CGAL/Surface_mesh.h>
#include <gtest/gtest.h>

#include "kerfwright/shape/section.hpp"
#include "known_solids.hpp"

namespace kerfwright {
namespace {

using Kernel = CGAL::Simple_cartesian<double>;
using Mesh = CGAL::Surface_mesh<Kernel::Point_3>;

/// Rings of corners, joined by four triangles to a patch over its middle: that middle is what makes
/// a patch of straight lines (a hyperbolic paraboloid) keep its volume, up to a rest that shrinks
/// with the square of the patch.
Mesh mesh_of(const LogShape& shape, double inset) {
  Mesh mesh;
  std::vector<std::vector<Mesh::Vertex_index>> rings;
  for (std::size_t i = 0; i < shape.stations.size(); ++i) {
    auto& ring = rings.emplace_back();
    for (const auto& p : section_outline(shape, i, Bark::on, inset)) {
      ring.push_back(mesh.add_vertex({shape.stations[i], p.x(), p.y()}));
    }
  }
  const std::size_t n = rings.front().size();
  for (std::size_t i = 0; i + 1 < rings.size(); ++i) {
    for (std::size_t j = 0; j < n; ++j) {
      const std::array corner{rings[i][j], rings[i + 1][j], rings[i + 1][(j + 1) % n],
                              rings[i][(j + 1) % n]};
      Kernel::Vector_3 sum(0, 0, 0);
      for (const auto c : corner) sum = sum + (mesh.point(c) - CGAL::ORIGIN);
      const auto middle = mesh.add_vertex(CGAL::ORIGIN + sum / 4.0);
      for (std::size_t k = 0; k < 4; ++k) mesh.add_face(corner[(k + 1) % 4], corner[k], middle);
    }
  }
  for (const std::size_t end : {std::size_t{0}, rings.size() - 1}) {
    const double x = shape.stations[end];
    const auto middle = mesh.add_vertex({x, shape.axis[end].x(), shape.axis[end].y()});
    for (std::size_t j = 0; j < n; ++j) {
      const auto a = rings[end][j], b = rings[end][(j + 1) % n];
      end == 0 ? mesh.add_face(b, a, middle) : mesh.add_face(a, b, middle);
    }
  }
  return mesh;
}

solids::Solid crooked_and_fluted() {
  solids::Solid solid;
  solid.length = 2600;
  solid.axis = [](double x) {
    return Eigen::Vector2d(70.0 * std::sin(std::numbers::pi * x / 2600.0),
                           25.0 * std::sin(2.0 * std::numbers::pi * x / 2600.0));
  };
  solid.radius = [](double x, double angle) {
    return (170.0 - 0.01 * x) * (1.0 + 0.05 * std::cos(2.0 * angle) +
                                 0.08 * std::exp(-x / 800.0) * std::cos(5.0 * angle + 0.001 * x));
  };
  return solid;
}

TEST(MeshVolume, AgreesWithSolidVolumeOverAndUnderBark) {
  const LogShape shape = solids::sampled(crooked_and_fluted(), 25.0);
  for (const double inset : {0.0, 8.0}) {
    Mesh mesh = mesh_of(shape, inset);
    ASSERT_TRUE(CGAL::is_closed(mesh));
    ASSERT_TRUE(CGAL::Polygon_mesh_processing::is_outward_oriented(mesh));
    const double volume = CGAL::to_double(CGAL::Polygon_mesh_processing::volume(mesh)) * 1e-9;
    EXPECT_NEAR(solid_volume_m3(shape, Bark::on, inset), volume, 1e-7 * volume);
  }
}

}  // namespace
}  // namespace kerfwright
