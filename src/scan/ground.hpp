#pragma once

#include <Eigen/Core>
#include <optional>
#include <vector>

#include "search_cloud.hpp"

namespace kerfwright {

/// Soil that a log lies on: a plane, and on it a grid of heights that follows humps and hollows.
class Ground {
 public:
  /// mm above the soil, negative below it.
  double height(const Eigen::Vector3d& point) const;
  const Eigen::Vector3d& up() const { return facing_; }
  /// One standard deviation of grass and gravel about the soil, mm.
  double roughness() const { return roughness_; }
  /// Up to this height a point is taken for ground while the log is looked for.
  double reach() const { return reach_; }
  double length() const { return length_; }  ///< mm, the longer side of what was seen of it
  double width() const { return width_; }
  /// The same soil in space that was stretched by `by`; heights stay what they were.
  Ground stretched(const Eigen::Matrix3d& by) const;

 private:
  friend std::optional<Ground> find_ground(const Points&, double, const Eigen::Vector3d*);
  void fit(const Points& points, double band);
  void measure(const Points& points, double leaf, double band);
  Eigen::Vector2d on_plane(const Eigen::Vector3d& point) const;
  double soil(const Eigen::Vector2d& place) const;

  Eigen::Vector3d up_, along_, across_;  ///< right-handed: along x across = up
  Eigen::Vector3d facing_;               ///< up, as space is stretched
  std::optional<Eigen::Matrix3d> back_;  ///< out of stretched space
  double distance_ = 0.0;                ///< up . p of the plane, mm
  Eigen::Vector2d corner_;               ///< of the grid, mm on the plane
  double cell_ = 0.0;                    ///< mm
  int columns_ = 0, rows_ = 0;
  std::vector<double> soil_;  ///< mm over the plane at the cells' middles
  double roughness_ = 0.0, reach_ = 0.0, length_ = 0.0, width_ = 0.0;
};

/// The ground in a cloud thinned to `leaf`, if there is any: the plane with the most points that
/// has the rest of the scene on one side, standing well within its outline. A flat strip of bark or
/// an end face is not taken for one, since the log stands out over it.
std::optional<Ground> find_ground(const Points& points, double leaf, const Eigen::Vector3d* up);

}  // namespace kerfwright
