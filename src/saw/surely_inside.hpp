#pragma once

#include <Eigen/Core>
#include <array>
#include <vector>

#include "kerfwright/shape/log_shape.hpp"

namespace kerfwright::saw {

/// Tells of most lines in the wood under bark that they are, without asking every point of them:
/// between two stations and in one of 32 sectors the wood reaches at least as far as the shortest
/// chord of both, and no point of a line lies further out than its ends.
class SurelyInside {
 public:
  explicit SurelyInside(const LogShape& shape);

  /// Whether a straight line, or a point that is both its ends, is surely in the wood; where that
  /// is not sure either may be true.
  bool inside(const Eigen::Vector3d& from, const Eigen::Vector3d& to) const;

 private:
  static constexpr std::size_t sectors = 32;
  const LogShape& shape_;
  std::vector<std::array<double, sectors>> squared_;  ///< [station] mm2, up to the next one
};

}  // namespace kerfwright::saw
