#pragma once

#include <Eigen/Core>
#include <optional>
#include <vector>

/// Geometry in a plane.
namespace kerfwright::sheet {

using Polygon = std::vector<Eigen::Vector2d>;

/// Points with normal . p >= offset.
struct HalfPlane {
  Eigen::Vector2d normal;
  double offset = 0;
};

/// What of a polygon lies in a half-plane. Parts of a polygon that is not convex may stay joined by
/// edges along the border, which neither changes areas nor extents.
Polygon clipped(const Polygon& polygon, const HalfPlane& half);

/// The part of the line normal . p = offset between its first and last meeting with the polygon.
struct Span {
  Eigen::Vector2d from, to;
};
std::optional<Span> span_on_line(const Polygon& polygon, const Eigen::Vector2d& normal,
                                 double offset);

/// The convex hull, counter-clockwise.
Polygon hull(Polygon points);

bool contains(const Polygon& polygon, const Eigen::Vector2d& point);

}  // namespace kerfwright::sheet
