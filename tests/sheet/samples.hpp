#pragma once

#include "kerfwright/saw/saw_plan.hpp"
#include "kerfwright/shape/log_shape.hpp"

/// Logs and plans made by hand, so that the sheet can be tried without the planner.
namespace kerfwright::samples {

struct LogForm {
  double length = 3000;      ///< mm
  double butt_radius = 160;  ///< mm over bark
  double top_radius = 160;   ///< mm over bark
  double bark = 8;           ///< mm
  double bow = 40;           ///< mm, how far the middle of the axis leaves the chord
  double bow_direction = 0;  ///< degrees from +y towards +z
};

/// A round log whose axis is a parabola; a third of its girth, below, is not seen.
LogShape bowed_log(const LogForm& form);

/// Sawn through and through at a turn of 35 degrees: two flitches edged and cut to a board each,
/// the one between gives two boards of full length.
SawPlan live_plan();
LogShape live_log();
/// The same at another turn, degrees.
SawPlan live_plan_at(double roll);
LogShape live_log_at(double roll);

/// Many thin flitches, three boards end to end in each.
SawPlan thin_plan(int flitches);
LogShape thin_log();

/// A cant from the turns 20 and 200 degrees with a side board from each, then boards across it at
/// 110.
SawPlan cant_plan();
LogShape cant_log();

}  // namespace kerfwright::samples
