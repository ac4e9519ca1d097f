#pragma once

#include <optional>
#include <string>
#include <vector>

#include "ground.hpp"
#include "search_cloud.hpp"

namespace kerfwright {

/// What stands on the ground, thinned, strays taken away.
struct Yard {
  double leaf = 0.0;  ///< mm
  std::optional<Ground> ground;
  Points objects;
  std::vector<std::vector<std::uint32_t>> groups;  ///< of objects, the largest first
};

/// Thins the scan, finds the ground and what stands on it.
Yard survey(const Points& points, const std::optional<Eigen::Vector3d>& up);

/// For the sentence that says what there is where no log is. `scale`: mm of the yard in a mm of the
/// scan.
std::string describe(const Yard& yard, double scale);

}  // namespace kerfwright
