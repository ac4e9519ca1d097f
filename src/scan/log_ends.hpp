#pragma once

#include <Eigen/Core>

#include "log_frame.hpp"
#include "rough_surface.hpp"

namespace kerfwright {

/// One end of a log in straightened coordinates.
struct LogEnd {
  double along = 0.0;  ///< mm, where the bark ends (on the axis where a face was found)
  bool face = false;   ///< points of an end face were found
  Eigen::Vector2d slope = Eigen::Vector2d::Zero();  ///< of the face, or of where the bark stops:
                                                    ///< along grows by this per mm sideways
  double outward = 1.0;  ///< +1 or -1: the way along that leads out of the log

  /// mm beyond the end (negative: inside the log) of a point `side` mm beside the axis.
  double beyond(double place, const Eigen::Vector2d& side) const {
    return outward * (place - along - slope.dot(side));
  }
};

struct LogEnds {
  LogEnd first, last;
};

/// Where the round thing really begins and ends: the bark runs out there, and perhaps a face stands
/// across.
LogEnds find_ends(const Unwrapped& near, const LogFrame& frame);

}  // namespace kerfwright
