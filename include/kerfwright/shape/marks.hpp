#pragma once

#include <Eigen/Core>
#include <string>
#include <vector>

namespace kerfwright {

/// What a person saw in or on a log and a scan of the surface cannot see. All in the log frame, mm.
/// A person gives places as they are measured: mm from the butt, the clock position as seen from
/// the butt (12 = up as the log lay when scanned), and the depth from the bark; `read_marks` turns
/// them into these.

/// The pith, a straight line between two points of the end faces.
struct Pith {
  Eigen::Vector2d butt = {0, 0}, top = {0, 0};  ///< (y, z)
  bool given = false;  ///< false: the centroids of the end faces, for want of better
};

/// A round body about the pith: heart rot, or a hollow. A radius of 0 at an end: none there; the
/// radius runs linearly from end to end.
struct Core {
  double radius_butt = 0, radius_top = 0;
};

/// Nail, wire, stone: nothing is sold from within `reach`, and the saw keeps out of it.
struct Metal {
  Eigen::Vector3d place = {0, 0, 0};
  double reach = 0;
};

/// A flat split from an end inwards: the half plane from the pith towards `direction`, or the whole
/// plane where it runs through.
struct Split {
  bool from_butt = true;
  double depth = 0;                    ///< mm along the log from that end
  Eigen::Vector2d direction = {0, 1};  ///< (y, z), unit, from the pith
  bool through = true;                 ///< on both sides of the pith
};

/// A cone with its point on the pith and its base of `diameter` at the bark.
struct Knot {
  Eigen::Vector3d at_bark = {0, 0, 0}, at_pith = {0, 0, 0};
  double diameter = 0;
  bool sound = true;
};

/// A part of the wood whose figure fetches more: a burl, curl, crotch.
struct FigureZone {
  std::string name;                      ///< the order's word for it
  double from = 0, to = 0;               ///< mm from the butt
  double clock_from = 0, clock_to = 12;  ///< hours, clockwise as seen from the butt
  double depth = 0;                      ///< mm from the bark; 0 = to the pith
};

struct Marks {
  Pith pith;
  std::vector<Core> rot, hollow;
  std::vector<Metal> metal;
  std::vector<Split> splits;
  std::vector<Knot> knots;
  std::vector<FigureZone> figure;
};

}  // namespace kerfwright
