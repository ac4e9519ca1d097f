#pragma once

#include <Eigen/Core>
#include <cstddef>
#include <vector>

namespace kerfwright {

/// How a cloud was thinned.
struct Thinning {
  std::size_t before = 0;  ///< points
  std::size_t after = 0;   ///< points; as many as before where nothing was finer than needed
  double cube = 0.0;       ///< mm, edge of the cubes
  std::size_t left = 0;    ///< points that every cube keeps if it has them
};

/// Takes points away where they lie closer than the fit needs, until about `enough` are left: the
/// same share of every cube, spread evenly over its points in their order, but never so many that
/// the cube has a point for less than every 5 mm. A cloud of no more than `enough` stays as it is.
/// Cubes with hardly any points hold strays and lose the share of the whole; they would otherwise
/// gain weight, as noise would if every cube kept the same number. Points are kept, not averaged:
/// means would make noise look smaller where points are many, and the fit weighs by it.
Thinning thin_out(std::vector<Eigen::Vector3f>& points, std::size_t enough);

}  // namespace kerfwright
