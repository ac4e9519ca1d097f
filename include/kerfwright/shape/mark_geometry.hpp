#pragma once

#include <string>
#include <vector>

#include "kerfwright/shape/log_shape.hpp"

/// What the marks of a log mean for a point of its wood. Points are in the log frame, mm; where a
/// depth is returned, it is positive inside the mark and negative outside.
namespace kerfwright {

/// The direction (y, z), of length 1, of a clock position. The clock is seen by someone who stands
/// at the butt and looks along the log: 12 is up as the log lay when scanned (+z), 3 is to the
/// right
/// (-y), 6 down, 9 to the left (+y).
Eigen::Vector2d clock_direction(double hours);

/// The clock position of a direction, hours, more than 0 and at most 12.
double clock_hours(const Eigen::Vector2d& direction);

/// Hours as a clock shows them, to the nearest half: "4:30".
std::string half_hour_text(double hours);

/// The pith at any x, as the marks give it or through the centroids of the end faces. Made once,
/// asked often.
class PithLine {
 public:
  explicit PithLine(const LogShape& shape);
  /// (y, z) at x; beyond the ends as at the end.
  Eigen::Vector2d at(double x) const;
  /// The same as a point of the log frame.
  Eigen::Vector3d point(double x) const {
    const Eigen::Vector2d yz = at(x);
    return {x, yz.x(), yz.y()};
  }

 private:
  std::vector<double> stations_;
  std::vector<Eigen::Vector2d> places_;
};

/// Radius of rot or hollow at x, mm; beyond the ends as at the end.
double core_radius(const Core& core, double length, double x);

/// How deep the point lies in rot or hollow, square to x; where it has no radius, minus the
/// distance from the pith.
double depth_in_core(const LogShape& shape, const PithLine& pith, const Core& core,
                     const Eigen::Vector3d& point);

/// How deep the point lies within the metal's reach.
double depth_in_metal(const Metal& metal, const Eigen::Vector3d& point);

/// Distance of the point from the split, mm, never negative: from its plane where the point lies
/// beside it, else from its nearest edge.
double distance_to_split(const LogShape& shape, const PithLine& pith, const Split& split,
                         const Eigen::Vector3d& point);

/// Radius of the knot's cone where `point` is nearest to the cone's axis, mm: 0 at the pith and on
/// its far side, half the diameter at the bark and beyond it (a stub runs on as a cylinder).
double knot_radius(const Knot& knot, const Eigen::Vector3d& point);

/// How deep the point lies in the knot, square to its axis; on the far side of the pith, minus the
/// distance from its point.
double depth_in_knot(const Knot& knot, const Eigen::Vector3d& point);

/// Whether the point lies in the log's wood and in the zone. Depth counts along the ray from the
/// axis, from the outside of the bark.
bool is_in_figure(const LogShape& shape, const FigureZone& zone, const Eigen::Vector3d& point);

/// The angle between the growth rings at a point and a face, degrees, 0 to 90: 0 where the rings
/// lie in the face (flat-sawn), 90 where they stand on it (quarter-sawn). Rings are taken as
/// circles about the pith: atan2(|x|, |y|) for a point x along the face and y square to it from the
/// pith.
/// @param face_normal need not be of length 1; its part along x does not count
double ring_angle(const PithLine& pith, const Eigen::Vector3d& point,
                  const Eigen::Vector3d& face_normal);

}  // namespace kerfwright
