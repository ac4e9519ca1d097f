#pragma once

#include <utility>
#include <vector>

#include "kerfwright/shape/log_shape.hpp"

namespace kerfwright {

/// Closed outline (y, z) of the section cut square to x, mm, in order of angle, `angles` points.
using Outline = std::vector<Eigen::Vector2d>;

/// Whether the bark is still on. How thick it is only `bark_at` knows.
enum class Bark { on, off };

/// Thickness of the bark at station `i`, mm, the same all round. Between stations it runs linearly,
/// as the radius does.
double bark_at(const LogShape& shape, std::size_t i);

/// Station i and the share of the way to station i + 1 at which x lies; x is clamped to the log.
std::pair<std::size_t, double> locate(const LogShape& shape, double x);

/// The outline at station `i`, each radius reduced by the bark (where it is off) and by `inset` mm;
/// a radius never becomes negative.
Outline section_outline(const LogShape& shape, std::size_t i, Bark bark, double inset = 0.0);

/// The outline at any x, 0 <= x <= length, interpolated between stations.
Outline section_outline_at(const LogShape& shape, double x, Bark bark, double inset = 0.0);

/// Area of a closed outline, mm2 (shoelace).
double outline_area(const Outline& outline);

/// Where the area of a closed outline balances, mm.
Eigen::Vector2d outline_centroid(const Outline& outline);

/// Centre of the section at any x: the axis, which between stations runs straight, mm.
Eigen::Vector2d axis_at(const LogShape& shape, double x);

/// Volume over or under bark, m3: Simpson's rule is exact for the solid between two stations, since
/// its area there is a quadratic of x.
double solid_volume_m3(const LogShape& shape, Bark bark, double inset = 0.0);

/// How deep a point lies inside the solid over or under bark, reduced by `inset`, mm along the ray
/// from the axis: positive inside, negative outside. Points beyond the ends give minus the distance
/// to the end.
double depth_inside(const LogShape& shape, const Eigen::Vector3d& point, Bark bark,
                    double inset = 0.0);

}  // namespace kerfwright
