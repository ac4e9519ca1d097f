#include <Eigen/Geometry>
#include <algorithm>
#include <cmath>
#include <random>

#include "raw_cloud.hpp"

namespace kerfwright {
namespace {

constexpr std::size_t sampled_points = 200000;
/// A mesh whose vertices lie nearer than this share of its own diagonal is a cloud already.
constexpr double dense_spacing = 1.0 / 500.0;

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

double diagonal(const RawCloud& cloud) {
  Eigen::Array3d low = Eigen::Array3d::Constant(std::numeric_limits<double>::infinity());
  Eigen::Array3d high = -low;
  for (const Eigen::Vector3d& point : cloud.points) {
    if (!point.allFinite()) continue;
    low = low.min(point.array());
    high = high.max(point.array());
  }
  return (high - low).matrix().norm();
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

}  // namespace

bool sample_sparse_mesh(RawCloud& cloud) {
  if (cloud.triangles.empty()) return false;
  const std::vector<double> area = running_area(cloud);
  const double spacing = std::sqrt(area.back() / static_cast<double>(cloud.points.size()));
  if (!(area.back() > 0.0) || spacing < dense_spacing * diagonal(cloud)) return false;
  std::mt19937_64 engine(1);
  cloud.points.reserve(cloud.points.size() + sampled_points);
  for (std::size_t i = 0; i < sampled_points; ++i) {
    // Stratified: each point has its own equal share of the area.
    const double at = area.back() * (static_cast<double>(i) + unit_draw(engine)) /
                      static_cast<double>(sampled_points);
    const auto found = std::upper_bound(area.begin(), area.end() - 1, at);
    const auto& triangle = cloud.triangles[static_cast<std::size_t>(found - area.begin())];
    cloud.points.push_back(point_in(cloud, triangle, engine));
  }
  return true;
}

}  // namespace kerfwright
