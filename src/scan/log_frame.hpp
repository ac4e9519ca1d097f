#pragma once

#include <Eigen/Core>
#include <cstdint>
#include <optional>
#include <vector>

#include "rough_axis.hpp"

namespace kerfwright {

/// Points near a log in coordinates that straighten it: how far along the axis, at which angle, how
/// far out.
struct Unwrapped {
  std::vector<std::uint32_t> index;  ///< of the point in the scan
  std::vector<float>
      along;  ///< mm along the axis, 0 at its first circle; beyond the ends it runs on straight
  std::vector<float> angle;  ///< rad, 0 to 2 pi, 0 at the top where up is known
  std::vector<float> out;    ///< distance from the axis over the circle's radius there
};

/// The straightening frame of a rough axis.
class LogFrame {
 public:
  /// `up` is where angle 0 points; any direction where it is not known.
  LogFrame(const RoughAxis& axis, const std::optional<Eigen::Vector3d>& up);

  /// All points within `farthest` radii of the axis and two radii beyond its ends.
  Unwrapped unwrap(const Points& points, double farthest) const;
  double length() const { return length_; }    ///< mm along the axis between its outermost circles
  double radius(double along) const;           ///< mm
  bool knows_up() const { return knows_up_; }  ///< angle 0 is the top; not so for an upright stem
  const Eigen::Vector3d& chord() const {
    return chord_;
  }                                            ///< unit vector from the first end to the last
  Eigen::Vector3d centre(double along) const;  ///< mm

 private:
  struct Place {
    double along, angle, out;
  };
  Place locate(const Eigen::Vector3d& point, std::size_t& segment) const;
  std::size_t segment_at(double along) const;

  std::vector<Eigen::Vector3d> centre_, tangent_, first_,
      second_;                         ///< per knot; first, second: the section's axes
  std::vector<double> radius_, knot_;  ///< mm; place along the axis
  double length_ = 0.0;
  bool knows_up_ = false;
  Eigen::Vector3d chord_;
  std::vector<double> chord_place_;  ///< of each knot along the chord, for a first guess
};

}  // namespace kerfwright
