#pragma once

#include <Eigen/Core>
#include <cmath>

namespace kerfwright {

/// A stretch of a section's plane that makes an ellipse round, as large as it was.
/// @param turn rad, the direction in which it is narrowest
/// @param ratio its width over its height
inline Eigen::Matrix2d rounding_of(double turn, double ratio) {
  const Eigen::Vector2d flat(std::cos(turn), std::sin(turn));
  const double root = std::sqrt(ratio);
  return Eigen::Matrix2d::Identity() / root + (root - 1.0 / root) * flat * flat.transpose();
}

}  // namespace kerfwright
