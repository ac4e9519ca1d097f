#pragma once

#include <Eigen/Core>
#include <array>
#include <vector>

#include "kerfwright/shape/log_shape.hpp"

namespace kerfwright::saw {

/// Tells of most points in the wood under bark that they are, at a fifth of the time that
/// depth_inside takes: between two stations and in one of 32 sectors the wood reaches at least as
/// far as the shortest chord of both.
class SurelyInside {
 public:
  explicit SurelyInside(const LogShape& shape);

  /// Whether a point is surely in the wood; of a point that is not sure either may be true.
  bool inside(const Eigen::Vector3d& point) const;

 private:
  static constexpr std::size_t sectors = 32;
  const LogShape& shape_;
  std::vector<std::array<double, sectors>> squared_;  ///< [station] mm2, up to the next one
};

}  // namespace kerfwright::saw
