#pragma once

#include "thin.hpp"

namespace kerfwright {

/// The rough direction of the log, a unit vector: the longest extent of the points; where the log
/// is hardly longer than thick, the direction to which the surface's facets are either parallel
/// (bark) or square (ends). `points` should be even, one a cube.
Eigen::Vector3d rough_direction(const Cloud& points);

}  // namespace kerfwright
