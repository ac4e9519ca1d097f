#pragma once

#include <vector>

#include "kerfwright/shape/log_shape.hpp"

namespace kerfwright {

/// Closed outline (y, z) of the section cut square to x, mm, in order of angle, `angles` points.
using Outline = std::vector<Eigen::Vector2d>;

/// The outline at station `i`, each radius reduced by `inset` mm (bark, or bark and a margin); a
/// radius never becomes negative.
Outline section_outline(const LogShape& shape, std::size_t i, double inset);

/// The outline at any x, 0 <= x <= length, interpolated between stations.
Outline section_outline_at(const LogShape& shape, double x, double inset);

/// Area of a closed outline, mm2 (shoelace).
double outline_area(const Outline& outline);

/// Volume under bark (or over, with `inset` 0) in m3: Simpson's rule is exact for the solid between
/// two stations, since its area there is a quadratic of x.
double solid_volume_m3(const LogShape& shape, double inset);

/// How deep a point lies inside the solid that `inset` leaves, mm along the ray from the axis:
/// positive inside, negative outside. Points beyond the ends give minus the distance to the end.
double depth_inside(const LogShape& shape, const Eigen::Vector3d& point, double inset);

}  // namespace kerfwright
