#pragma once

#include <Eigen/Core>
#include <optional>
#include <string>
#include <vector>

namespace kerfwright {

/// What a person saw in or on a log and a scan of the surface cannot see. All in the log frame, mm.
/// A person gives places as they are measured (see read_marks.hpp); what follows from them for a
/// point of the wood is in mark_geometry.hpp.

/// The pith, where it meets the end faces. Between the ends it follows the log's own axis, at the
/// distance from it that runs linearly from end to end: the pith of a crooked log is crooked.
struct Pith {
  Eigen::Vector2d butt = {0, 0}, top = {0, 0};  ///< (y, z)
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
  std::string name;         ///< the order's word for it
  double from = 0, to = 0;  ///< mm from the butt
  double clock_from = 0,    ///< hours, 0 to 12, about the log's axis; the zone runs clockwise as
      clock_to = 12;        ///< seen from the butt, over 12 where clock_to is less than clock_from
  double depth = 0;         ///< mm from the bark; 0 = to the axis
};

struct Marks {
  std::optional<Pith> pith;  ///< empty: the centroids of the end faces, for want of better
  std::vector<Core> rot, hollow;
  std::vector<Metal> metal;
  std::vector<Split> splits;
  std::vector<Knot> knots;
  std::vector<FigureZone> figure;

  bool empty() const {
    return !pith && rot.empty() && hollow.empty() && metal.empty() && splits.empty() &&
           knots.empty() && figure.empty();
  }
};

}  // namespace kerfwright
