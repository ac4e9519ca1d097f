#pragma once

#include "placement.hpp"
#include "surface_fit.hpp"

namespace kerfwright {

/// The centre of a closed outline given by its radii at even angles from 0: of the circle and
/// ellipse that most of it follows, so that a burl on one side does not draw it there. Relative to
/// the radii's origin.
Eigen::Vector2d stem_centre(const Eigen::VectorXd& radii);

/// Lays the spine through the centres of the stem that the surface found, in the same frame.
void recentre(Placement& placement, const FittedSurface& surface);

/// The largest distance between two spines in one frame, mm.
double farthest_apart(const Spine& a, const Spine& b);

}  // namespace kerfwright
