#include "thin.hpp"

#include <Eigen/Dense>
#include <algorithm>
#include <array>
#include <cmath>
#include <cstdint>

namespace kerfwright {
namespace {

/// Cube numbers of 21 bits an axis in one word, so that neighbours are found by adding.
constexpr std::int64_t axis_bits = 21;
constexpr std::int64_t axis_bias = std::int64_t{1} << (axis_bits - 1);

std::int64_t key_of(const Eigen::Vector3d& p, double size) {
  std::int64_t key = 0;
  for (int a = 0; a < 3; ++a) {
    const auto cube = static_cast<std::int64_t>(std::floor(p[a] / size)) + axis_bias;
    key = (key << axis_bits) | std::clamp<std::int64_t>(cube, 1, 2 * axis_bias - 2);
  }
  return key;
}

std::vector<std::pair<std::int64_t, std::uint32_t>> sorted_keys(const Cloud& points, double size) {
  std::vector<std::pair<std::int64_t, std::uint32_t>> keys(points.size());
  for (std::size_t i = 0; i < points.size(); ++i) {
    keys[i] = {key_of(points[i], size), static_cast<std::uint32_t>(i)};
  }
  std::sort(keys.begin(), keys.end());
  return keys;
}

struct Moments {
  std::int64_t key = 0;
  double count = 0;
  Eigen::Vector3d sum = Eigen::Vector3d::Zero();
  Eigen::Matrix3d products = Eigen::Matrix3d::Zero();

  void add(const Moments& other) {
    count += other.count;
    sum += other.sum;
    products += other.products;
  }
};

std::vector<Moments> cube_moments(const Cloud& points, double size) {
  std::vector<Moments> cubes;
  for (const auto& [key, index] : sorted_keys(points, size)) {
    if (cubes.empty() || cubes.back().key != key) cubes.push_back({.key = key});
    const auto& p = points[index];
    cubes.back().add({key, 1.0, p, p * p.transpose()});
  }
  return cubes;
}

Moments with_neighbours(const std::vector<Moments>& cubes, std::int64_t key) {
  Moments all;
  for (std::int64_t dx = -1; dx <= 1; ++dx) {
    for (std::int64_t dy = -1; dy <= 1; ++dy) {
      const std::int64_t from = key + (((dx << axis_bits) + dy) << axis_bits) - 1;
      auto cube = std::lower_bound(cubes.begin(), cubes.end(), from,
                                   [](const Moments& m, std::int64_t k) { return m.key < k; });
      for (; cube != cubes.end() && cube->key <= from + 2; ++cube) all.add(*cube);
    }
  }
  return all;
}

}  // namespace

Cloud thin(const Cloud& points, double size) {
  Cloud means;
  for (const auto& cube : cube_moments(points, size)) means.push_back(cube.sum / cube.count);
  return means;
}

std::vector<Facet> facets(const Cloud& points, double size) {
  const auto cubes = cube_moments(points, size);
  std::vector<Facet> found;
  for (const auto& cube : cubes) {
    const Moments all = with_neighbours(cubes, cube.key);
    if (all.count < 6) continue;
    const Eigen::Vector3d mean = all.sum / all.count;
    const Eigen::Matrix3d spread = all.products / all.count - mean * mean.transpose();
    const Eigen::SelfAdjointEigenSolver<Eigen::Matrix3d> solver(spread);
    const double middle = solver.eigenvalues()[1];
    if (middle <= 1e-9) continue;
    const double flatness = 1.0 - std::max(0.0, solver.eigenvalues()[0]) / middle;
    found.push_back({solver.eigenvectors().col(0), flatness});
  }
  return found;
}

}  // namespace kerfwright
