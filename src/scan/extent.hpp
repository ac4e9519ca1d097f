#pragma once

#include <Eigen/Core>
#include <cstddef>
#include <vector>

namespace kerfwright {

/// A box that holds a cloud but for its strays.
struct CloudExtent {
  Eigen::Vector3d low, high;
  Eigen::Vector3d size() const { return high - low; }
  Eigen::Vector3d centre() const { return 0.5 * (low + high); }
};

/// From the 0.5 % to the 99.5 % quantile on each axis, over at most 20 000 points spread evenly
/// through the list.
template <typename Vector>
CloudExtent robust_extent(const std::vector<Vector>& points);

}  // namespace kerfwright
