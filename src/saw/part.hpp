#pragma once

#include <Eigen/Geometry>

#include "kerfwright/saw/saw_plan.hpp"
#include "kerfwright/shape/log_shape.hpp"

namespace kerfwright::saw {

/// A flat end of a part, in the log frame.
struct PartEnd {
  Eigen::Vector3d point, normal;  ///< point on the axis; unit, towards the top
  double half_kerf = 0;           ///< mm, what the saw takes on either side; 0 at the log's own end
};

/// The end at x of the log: its own, or where a cross-cut of the kerf is made, square to the axis
/// as it runs over a stretch of 0.6 m there.
PartEnd part_end(const LogShape& log, double x, double kerf);

/// A part of a log as a log of its own: in a frame whose x runs along the part's own chord, and
/// only as long as it is whole, so that nothing of it lies beyond its ends.
struct Part {
  LogShape shape;
  Eigen::Isometry3d to_log;   ///< from the part's frame to the log's
  Eigen::Vector3d butt, top;  ///< centres of its ends, log frame, mm
};

/// @param station_step mm, at most, between the stations of the part
/// @param angles round a section of the part
Part part_of(const LogShape& log, const PartEnd& low, const PartEnd& high, double station_step,
             int angles);

/// A plan of a part, in the log's frame. Boards keep their numbers, cuts and setups too; every
/// piece has the part's name in front, and what was the log is the part.
SawPlan in_log_frame(SawPlan plan, const Part& part, const std::string& name, double log_length);

}  // namespace kerfwright::saw
