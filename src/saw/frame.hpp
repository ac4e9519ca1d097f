#pragma once

#include <Eigen/Core>
#include <cmath>

#include "profile.hpp"

namespace kerfwright::saw {

/// The axes of the saw in the log frame: along the bed, across it and up.
struct Frame {
  Eigen::Vector3d along, across, up;

  explicit Frame(const Pose& pose) {
    const double c = std::sqrt(1.0 - pose.slope * pose.slope);
    const double cr = std::cos(pose.roll);
    const double sr = std::sin(pose.roll);
    along = {c, -pose.slope * sr, -pose.slope * cr};
    across = {0.0, cr, -sr};
    up = {pose.slope, c * sr, c * cr};
  }

  /// The point of the log frame at x that lies so far across the bed and so high, mm.
  Eigen::Vector3d point(double x, double lateral, double height) const {
    // Square to x, `up` is the cosine of the slope long, and square to `across`.
    const double aloft = (height - up.x() * x) / (1.0 - up.x() * up.x());
    return {x, across.y() * lateral + up.y() * aloft, across.z() * lateral + up.z() * aloft};
  }
};

}  // namespace kerfwright::saw
