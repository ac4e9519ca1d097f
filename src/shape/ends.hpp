#pragma once

#include <Eigen/Core>
#include <Eigen/Geometry>

#include "spine.hpp"

namespace kerfwright {

/// An end of the log in some frame: the plane x = at + slope . (y, z).
struct EndFace {
  double at = 0;
  Eigen::Vector2d slope{0, 0};
  double spread = 0;     ///< mm, robust standard deviation of the face's points
  double rim = 1.0;      ///< radius of the bark towards the innermost point of an oblique end, over
                         ///< the section's mean
  bool scanned = false;  ///< false = no face was seen, the bark's points simply stop there

  double x(const Eigen::Vector2d& yz) const { return at + slope.dot(yz); }
};

/// Finds the end towards smaller (`sign` -1) or larger (+1) x in a frame whose x runs along the
/// log: a face where one was scanned, else where the bark's points stop.
EndFace find_end(const Cloud& points, const Spine& spine, int sign);

/// The x at which the log begins (`sign` -1) or ends (+1) to be whole: the innermost point of the
/// rim.
double whole_from(const EndFace& face, const Spine& spine, int sign);

/// The face as seen from another frame.
EndFace moved(const EndFace& face, const Eigen::Isometry3d& move);

}  // namespace kerfwright
