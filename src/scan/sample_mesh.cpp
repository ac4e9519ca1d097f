#include <Eigen/Geometry>
#include <algorithm>
#include <cmath>
#include <random>

#include "raw_cloud.hpp"

namespace kerfwright {
namespace {

/// A point for every face, which is two for every corner of a closed mesh, within these bounds.
constexpr std::size_t fewest_samples = 200000;
constexpr std::size_t most_samples = 1000000;

std::vector<double> running_area(const RawCloud& cloud) {
  std::vector<double> area;
  area.reserve(cloud.triangles.size());
  double sum = 0.0;
  for (const auto& [a, b, c] : cloud.triangles) {
    const Eigen::Vector3d ab = cloud.points[b] - cloud.points[a];
    const Eigen::Vector3d ac = cloud.points[c] - cloud.points[a];
    const double part = 0.5 * ab.cross(ac).norm();
    sum += std::isfinite(part) ? part : 0.0;
    area.push_back(sum);
  }
  return area;
}

/// 0 <= value < 1; the distributions of the standard library differ from one library to the next.
double unit_draw(std::mt19937_64& engine) {
  return static_cast<double>(engine() >> 11) * 0x1.0p-53;
}

Eigen::Vector3d point_in(const RawCloud& cloud, const std::array<std::uint32_t, 3>& triangle,
                         std::mt19937_64& engine) {
  double u = unit_draw(engine);
  double v = unit_draw(engine);
  if (u + v > 1.0) {
    u = 1.0 - u;
    v = 1.0 - v;
  }
  const Eigen::Vector3d& a = cloud.points[triangle[0]];
  return a + u * (cloud.points[triangle[1]] - a) + v * (cloud.points[triangle[2]] - a);
}

/// Corners that no face uses are points of their own.
std::vector<Eigen::Vector3d> loose_points(const RawCloud& cloud) {
  std::vector<bool> is_corner(cloud.points.size());
  for (const auto& triangle : cloud.triangles)
    for (const std::uint32_t corner : triangle) is_corner[corner] = true;
  std::vector<Eigen::Vector3d> loose;
  for (std::size_t i = 0; i < cloud.points.size(); ++i)
    if (!is_corner[i]) loose.push_back(cloud.points[i]);
  return loose;
}

}  // namespace

std::size_t sample_mesh(RawCloud& cloud) {
  if (cloud.triangles.empty()) return 0;
  const std::vector<double> area = running_area(cloud);
  if (!(area.back() > 0.0)) return 0;
  const std::size_t samples = std::clamp(cloud.triangles.size(), fewest_samples, most_samples);
  std::vector<Eigen::Vector3d> points = loose_points(cloud);
  points.reserve(points.size() + samples);
  std::mt19937_64 engine(1);
  for (std::size_t i = 0; i < samples; ++i) {
    // Stratified: each point has its own equal share of the area.
    const double at =
        area.back() * (static_cast<double>(i) + unit_draw(engine)) / static_cast<double>(samples);
    const auto found = std::upper_bound(area.begin(), area.end() - 1, at);
    const auto& triangle = cloud.triangles[static_cast<std::size_t>(found - area.begin())];
    points.push_back(point_in(cloud, triangle, engine));
  }
  cloud.points = std::move(points);
  cloud.triangles = {};
  return samples;
}

}  // namespace kerfwright
