#pragma once

#include <Eigen/Core>
#include <algorithm>
#include <cmath>
#include <numbers>

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

/// The pose in which a direction, a unit vector of the log frame, is up.
inline Pose pose_with_up(const Eigen::Vector3d& up) {
  return {std::atan2(up.y(), up.z()), std::clamp(up.x(), -1.0, 1.0)};
}

/// Half a turn further: the same planes, seen from the other side.
inline Pose upside_down(const Pose& pose) { return {pose.roll + std::numbers::pi, -pose.slope}; }

/// Mean height of the pith in a pose, mm.
inline double pith_height(const Wood& wood, const Pose& pose) {
  const Eigen::Vector3d up = Frame(pose).up;
  double sum = 0.0;
  for (std::size_t i = 0; i < wood.border.size(); ++i) {
    sum += up.dot(Eigen::Vector3d(wood.border[i], wood.pith[i].x(), wood.pith[i].y()));
  }
  return sum / static_cast<double>(wood.border.size());
}

/// A plane square to a pose's bed: where it lies across the bed at the butt, and how it runs.
struct Across {
  double at = 0;    ///< mm
  double lean = 0;  ///< lateral mm per mm along the log
};

/// @param height mm, of the plane in the pose `of`, whose up must be square to that of `in`
inline Across across_of(const Pose& of, double height, const Pose& in) {
  const Frame plane(of);
  const Frame bed(in);
  // A point of the bed's frame lies in the plane where plane.up . point = height; along the log,
  // x is measured on the chord: point = along s + across u + up h, x = along.x s + up.x h.
  const double per_across = plane.up.dot(bed.across);
  const double per_along = plane.up.dot(bed.along) / bed.along.x();
  return {height / per_across, -per_along / per_across};
}

}  // namespace kerfwright::saw
