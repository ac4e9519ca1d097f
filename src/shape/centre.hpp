#pragma once

#include "placement.hpp"
#include "surface_fit.hpp"

namespace kerfwright {

/// The centre of a closed outline given by its radii at even angles from 0: of the circle and
/// ellipse that most of it follows, so that a burl on one side does not draw it there. Relative to
/// the radii's origin.
Eigen::Vector2d stem_centre(const Eigen::VectorXd& radii);

/// Lays the spine through the centres of the fitted sections and moves the frame with it. Gives the
/// largest distance, mm, by which the spine moved.
double recentre(Placement& placement, const FittedSurface& surface);

}  // namespace kerfwright
