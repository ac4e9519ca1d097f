#include "direction.hpp"

#include <Eigen/Dense>
#include <cmath>
#include <numbers>

namespace kerfwright {
namespace {

/// 0 where every facet is parallel or square to `direction`, worst for facets at 45 degrees.
double indecision(const std::vector<Facet>& pieces, const Eigen::Vector3d& direction) {
  double sum = 0;
  for (const auto& piece : pieces) {
    const double along = piece.normal.dot(direction);
    sum += piece.flatness * along * along * (1.0 - along * along);
  }
  return sum;
}

/// Tries directions on a spiral round `around`, out to `reach` radians.
Eigen::Vector3d best_direction(const std::vector<Facet>& pieces, const Eigen::Vector3d& around,
                               double reach, int tries) {
  const Eigen::Vector3d u = around.unitOrthogonal(), v = around.cross(u);
  Eigen::Vector3d best = around;
  double least = indecision(pieces, around);
  for (int i = 0; i < tries; ++i) {
    const double tilt = reach * std::sqrt((i + 0.5) / tries);
    const double turn = i * std::numbers::pi * (3.0 - std::sqrt(5.0));
    const Eigen::Vector3d direction =
        std::cos(tilt) * around + std::sin(tilt) * (std::cos(turn) * u + std::sin(turn) * v);
    const double value = indecision(pieces, direction);
    if (value < least) {
      least = value;
      best = direction;
    }
  }
  return best;
}

}  // namespace

Eigen::Vector3d rough_direction(const Cloud& points) {
  Eigen::Vector3d mean = Eigen::Vector3d::Zero();
  for (const auto& p : points) mean += p / static_cast<double>(points.size());
  Eigen::Matrix3d spread = Eigen::Matrix3d::Zero();
  for (const auto& p : points) spread += (p - mean) * (p - mean).transpose();
  const Eigen::SelfAdjointEigenSolver<Eigen::Matrix3d> solver(spread);
  const Eigen::Vector3d longest = solver.eigenvectors().col(2);
  // A cylinder's ratio of extents is length / (2.4 diameters) or a little more: below 2.2 the
  // longest extent may well be a diagonal.
  const double ratio = std::sqrt(solver.eigenvalues()[2] / std::max(1e-9, solver.eigenvalues()[1]));
  if (ratio > 2.2) return longest;
  const auto pieces = facets(points, 45.0);
  if (pieces.size() < 20) return longest;
  Eigen::Vector3d direction = best_direction(pieces, longest, 0.5 * std::numbers::pi, 2500);
  direction = best_direction(pieces, direction, 0.06, 300);
  return best_direction(pieces, direction, 0.012, 200).normalized();
}

}  // namespace kerfwright
