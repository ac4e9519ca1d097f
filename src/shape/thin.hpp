#pragma once

#include <Eigen/Core>
#include <vector>

namespace kerfwright {

using Cloud = std::vector<Eigen::Vector3d>;

/// One point, the mean, for each cube of `size` mm that holds any; cubes in order of their place.
Cloud thin(const Cloud& points, double size);

/// A small flat piece of the surface.
struct Facet {
  Eigen::Vector3d normal{0, 0, 1};  ///< unit, either way round
  double flatness = 0;              ///< 0 to 1: how much a plane explains the points of the piece
};

/// The surface as facets of about `size` mm, each from a cube and its neighbours.
std::vector<Facet> facets(const Cloud& points, double size);

}  // namespace kerfwright
