#pragma once

#include <functional>

#include "kerfwright/saw/saw_plan.hpp"
#include "kerfwright/shape/log_shape.hpp"

namespace kerfwright {

/// How the first face is opened, as a person sets it. Lengths in mm.
struct Opening {
  std::string piece;  ///< "log", or the part of it that lies on the mill
  double turn =
      0;  ///< degrees clockwise for someone at the butt who looks along the log, 0 <= turn < 360
  double lift_butt = 0, lift_top = 0;
  double above_bed = 0;                                ///< middle of the first cut over the bed
  double above_butt_centre = 0, above_top_centre = 0;  ///< over the centre of each end
  double slab_butt = 0,
         slab_top = 0;  ///< thickness of the slab over bark at each end, where it is thickest
};

/// Of the log, or of each of its parts in sawing order where it is cross-cut first.
std::vector<Opening> openings_of(const SawPlan& plan, const LogShape& shape);

/// Height, in the direction `up`, of the bed under a log that rests on the mill's bunks; where only
/// a part of the log is left, `is_left` says which points of its surface that part still has.
double bed_under(const LogShape& shape, const Mill& mill, const Eigen::Vector3d& up,
                 const std::function<bool(const Eigen::Vector3d&)>& is_left = {});

}  // namespace kerfwright
