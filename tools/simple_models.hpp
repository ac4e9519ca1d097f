#pragma once

#include "kerfwright/scan/scan.hpp"
#include "kerfwright/shape/log_shape.hpp"

/// What a person would make of a log without the model: round, simple, each as a shape that can be
/// planned on. None has marks; all radii of a station are the same; sigma is the scatter of the
/// points about the solid (1.4826 times the median distance), so that each knows how good it is.
namespace kerfwright {

/// Two end diameters and the tape: a straight frustum between the ends of the known solid, where a
/// person would measure them. sigma 0.
LogShape taped_frustum(const LogShape& truth);

/// A straight cylinder by random sampling (PCL, with normals), as long as its points reach.
LogShape ransac_cylinder(const Scan& log);

/// The straight frustum of a cone nearest to the points (Gauss-Newton with Tukey's weights), begun
/// at the cylinder.
LogShape fitted_frustum(const Scan& log);

/// A circle through the points of each slice of 50 mm (the same weights), begun at the frustum.
LogShape circles_by_slice(const Scan& log);

}  // namespace kerfwright
