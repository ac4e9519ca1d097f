#include "extent.hpp"

#include <algorithm>

namespace kerfwright {

template <typename Vector>
CloudExtent robust_extent(const std::vector<Vector>& points) {
  CloudExtent extent{Eigen::Vector3d::Zero(), Eigen::Vector3d::Zero()};
  if (points.empty()) return extent;
  const std::size_t step = points.size() / 20000 + 1;
  std::vector<double> values;
  for (Eigen::Index axis = 0; axis < 3; ++axis) {
    values.clear();
    for (std::size_t i = 0; i < points.size(); i += step)
      values.push_back(static_cast<double>(points[i][axis]));
    std::sort(values.begin(), values.end());
    const std::size_t cut = values.size() / 200;
    extent.low[axis] = values[cut];
    extent.high[axis] = values[values.size() - 1 - cut];
  }
  return extent;
}

template CloudExtent robust_extent(const std::vector<Eigen::Vector3d>&);
template CloudExtent robust_extent(const std::vector<Eigen::Vector3f>&);

}  // namespace kerfwright
