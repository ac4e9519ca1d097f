#include <Eigen/Geometry>
#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>
#include <random>

#include "rough_axis.hpp"

namespace kerfwright {
namespace {

constexpr std::size_t search_points = 3000;
constexpr std::size_t normal_points = 10000;
constexpr int trials = 4000;
constexpr std::size_t most_found = 12;
constexpr int sectors = 24;

struct Sample {
  std::vector<Eigen::Vector3d> point, normal;
};

/// The cylinder through two points whose normals meet on its axis.
bool cylinder_through(const Sample& sample, std::size_t i, std::size_t j, Cylinder& cylinder) {
  const Eigen::Vector3d cross = sample.normal[i].cross(sample.normal[j]);
  const double sine = cross.norm();
  if (sine < 0.35) return false;  // 20 degrees
  cylinder.axis = cross / sine;
  Eigen::Vector3d between = sample.point[j] - sample.point[i];
  const double along = cylinder.axis.dot(between);
  between -= along * cylinder.axis;
  // p_i + a n_i = p_j + b n_j in the plane square to the axis.
  const double a = between.cross(sample.normal[j]).dot(cylinder.axis) / sine;
  const double b = between.cross(sample.normal[i]).dot(cylinder.axis) / sine;
  cylinder.radius = 0.5 * (std::abs(a) + std::abs(b));
  cylinder.point = sample.point[i] + a * sample.normal[i] + 0.5 * along * cylinder.axis;
  return std::abs(std::abs(a) - std::abs(b)) < 0.15 * cylinder.radius &&
         std::abs(along) < 3.0 * cylinder.radius;
}

/// Points on the surface within three radii of the middle, times the square root of the share of
/// the girth they take up; points inside speak against it.
double score_of(const Sample& sample, const Cylinder& cylinder, double leaf) {
  const Eigen::Vector3d e1 = cylinder.axis.unitOrthogonal();
  const Eigen::Vector3d e2 = cylinder.axis.cross(e1);
  const double band = std::clamp(0.08 * cylinder.radius, leaf, 2.0 * leaf);
  std::array<int, sectors> hits{};
  int on = 0, inside = 0;
  for (std::size_t i = 0; i < sample.point.size(); ++i) {
    const Eigen::Vector3d d = sample.point[i] - cylinder.point;
    if (std::abs(cylinder.axis.dot(d)) > 3.0 * cylinder.radius) continue;
    const double x = e1.dot(d), y = e2.dot(d);
    const double distance = std::hypot(x, y);
    if (distance < 0.75 * cylinder.radius) ++inside;
    if (std::abs(distance - cylinder.radius) > band) continue;
    const double facing = (x * e1.dot(sample.normal[i]) + y * e2.dot(sample.normal[i])) / distance;
    if (std::abs(facing) < 0.85) continue;
    ++on;
    const double turn = (std::atan2(y, x) + std::numbers::pi) / (2.0 * std::numbers::pi);
    ++hits[static_cast<std::size_t>(std::min(sectors - 1, static_cast<int>(turn * sectors)))];
  }
  int seen = 0;
  for (const int hit : hits) seen += hit >= 2 ? 1 : 0;
  if (on < 15 || seen < 7) return 0.0;
  return (on - 0.5 * inside) * std::sqrt(std::min(1.0, 2.0 * seen / sectors));
}

bool is_same(const Cylinder& a, const Cylinder& b) {
  const Eigen::Vector3d d = a.point - b.point;
  const double apart = (d - a.axis.dot(d) * a.axis).norm();
  return apart < 0.7 * a.radius && std::abs(a.axis.dot(d)) < 4.0 * a.radius;
}

/// Keeps the best ones of different things.
std::vector<Cylinder> distinct(std::vector<Cylinder> all) {
  std::stable_sort(all.begin(), all.end(),
                   [](const Cylinder& a, const Cylinder& b) { return a.score > b.score; });
  std::vector<Cylinder> kept;
  for (const Cylinder& cylinder : all) {
    if (kept.size() == most_found) break;
    if (std::none_of(kept.begin(), kept.end(),
                     [&](const Cylinder& k) { return is_same(k, cylinder); }))
      kept.push_back(cylinder);
  }
  return kept;
}

}  // namespace

std::vector<Cylinder> find_cylinders(const Points& points, double leaf, double longest_radius) {
  // A normal is taken over as wide a piece of surface on a block as on a long log, or noise would
  // turn it.
  Points surface;
  for (const std::uint32_t i : even_pick(points.size(), normal_points))
    surface.push_back(points[i]);
  const std::vector<std::uint32_t> picked = even_pick(surface.size(), search_points);
  if (picked.size() < 30) return {};
  Sample sample;
  sample.normal = estimate_normals(surface, picked, 14);
  for (const std::uint32_t i : picked) sample.point.push_back(surface[i].cast<double>());
  std::mt19937_64 engine(1);
  std::vector<Cylinder> tried;
  for (int trial = 0; trial < trials; ++trial) {
    Cylinder cylinder;
    const std::size_t i = engine() % picked.size();
    const std::size_t j = engine() % picked.size();
    if (!cylinder_through(sample, i, j, cylinder) || cylinder.radius > longest_radius ||
        cylinder.radius < 1.5 * leaf)
      continue;
    tried.push_back(cylinder);
  }
  const auto count = static_cast<std::ptrdiff_t>(tried.size());
#pragma omp parallel for schedule(dynamic, 16)
  for (std::ptrdiff_t i = 0; i < count; ++i)
    tried[static_cast<std::size_t>(i)].score =
        score_of(sample, tried[static_cast<std::size_t>(i)], leaf);
  std::erase_if(tried, [](const Cylinder& cylinder) { return !(cylinder.score > 0.0); });
  return distinct(std::move(tried));
}

}  // namespace kerfwright
