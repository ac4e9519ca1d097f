#pragma once

#include <Eigen/Core>
#include <cstdint>
#include <vector>

#include "extent.hpp"

namespace kerfwright {

using Points = std::vector<Eigen::Vector3f>;

/// One point, the mean, for each cube of side `leaf` that holds any within `box`.
Points thin_points(const Points& points, const CloudExtent& box, double leaf);

/// Without points whose mean distance to their nearest neighbours is far above what is usual.
Points without_strays(const Points& points);

/// Side of the square that a point of a surface has to itself, median; 0 for fewer than five
/// points.
double usual_spacing(const Points& points);

/// Groups of points that are joined by gaps of at most `gap`, the largest first; those smaller than
/// `least` left out. Each group is a list of indices in increasing order.
std::vector<std::vector<std::uint32_t>> connected_groups(const Points& points, double gap,
                                                         std::size_t least);

/// Indices of every n-th of `count` points, at most `most`, so that what looks at them costs the
/// same on any cloud.
std::vector<std::uint32_t> even_pick(std::size_t count, std::size_t most);

/// Unit normals (of either sign) at the points `at`, from the `neighbours` nearest in `points`.
std::vector<Eigen::Vector3d> estimate_normals(const Points& points,
                                              const std::vector<std::uint32_t>& at, int neighbours);

/// The plane that holds the most points within `band` (RANSAC); where `along` is given, one whose
/// normal is within 30 degrees of it. Normal and distance, normal . p = distance.
struct Plane {
  Eigen::Vector3d normal = Eigen::Vector3d::Zero();
  double distance = 0.0;
  bool found = false;
};
Plane find_plane(const Points& points, double band, const Eigen::Vector3d* along);

}  // namespace kerfwright
