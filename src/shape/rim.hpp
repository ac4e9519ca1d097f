#pragma once

#include <Eigen/Core>
#include <vector>

#include "placement.hpp"

namespace kerfwright {

/// A point of the outline of an end, found from the face: there the log is seen all round, even
/// where its underside is not.
struct RimPoint {
  double x = 0;       ///< mm
  double turn = 0;    ///< angle from +y towards +z as a share of the full turn
  double radius = 0;  ///< mm from the spine
  double sigma = 0;   ///< mm, one standard deviation of it
};

/// The outlines of those ends whose faces were scanned: a point every 7.5 degrees, of faces that
/// few points show every 15 or 22.5.
std::vector<RimPoint> rim_points(const std::vector<Eigen::Vector3f>& points,
                                 const Placement& placement);

}  // namespace kerfwright
