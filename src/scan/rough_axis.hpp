#pragma once

#include <Eigen/Core>
#include <vector>

#include "search_cloud.hpp"

namespace kerfwright {

/// A straight piece of a round thing.
struct Cylinder {
  Eigen::Vector3d point, axis;
  double radius = 0.0;
  double score = 0.0;
};

/// The rough axis of a round, perhaps crooked thing: circles at even steps along it.
struct RoughAxis {
  std::vector<Eigen::Vector3d> centre;  ///< mm
  std::vector<double> radius;           ///< mm
  std::vector<double> girth;            ///< share of it with points, 0 where stepped over
  double share = 0.0;                   ///< of the points about it, those on its surface
  int points = 0;                       ///< on its surface
  double spread = 0.0;                  ///< root mean square distance from the circles, in radii

  double length() const;       ///< mm along the axis
  double mean_radius() const;  ///< mm
  double mean_girth() const;
};

/// The cylinders that fit best (RANSAC on pairs of points and their normals, fixed seed), best
/// first; none where nothing round is found.
std::vector<Cylinder> find_cylinders(const Points& points, double leaf, double longest_radius);

/// Follows the round thing that `start` is a piece of, both ways, circle by circle.
RoughAxis follow_axis(const Points& points, const Cylinder& start, double leaf);

/// Distance of a point from the axis in radii there, where the point is beside it; far where it is
/// beyond the ends.
double radii_from(const RoughAxis& axis, const Eigen::Vector3d& point);

}  // namespace kerfwright
