#pragma once

#include <optional>
#include <vector>

#include "kerfwright/scan/find_log.hpp"
#include "log_ends.hpp"
#include "log_frame.hpp"
#include "survey.hpp"
#include "wood_cells.hpp"

namespace kerfwright {

/// A round thing parted from what touches it.
struct PartedLog {
  Unwrapped near;
  std::vector<Part> parts;  ///< of near
  LogEnds ends;
  double length = 0.0;     ///< mm, between the middles of the ends
  double diameter = 0.0;   ///< mm, mean
  double girth = 0.0;      ///< share of the surface that was seen
  double roundness = 0.0;  ///< share of that which faces away from the axis
  double bulge = 0.0;      ///< points close before the end faces, per point on them
};

/// What is known of points before the log is parted: `log` where nothing is, else what they are
/// instead (of another log in line with it, of a second stem). Empty: nothing is known.
using Known = std::vector<PointLabel>;

/// Straightens the log, finds its ends and its surface, and parts its points from the rest: twice,
/// since what the first parting takes for a rest must not draw on the surface of the second.
PartedLog part_log(const Points& points, const Yard& yard, const RoughAxis& axis,
                   const LogFrame& frame, const Known& known);

/// As long as thick, near enough; seen over a fifth of its girth at least, and where only a little
/// of it is seen that must be clean; facing outward as bark does and a beam does not. A ball is
/// round too, but has no ends.
/// `least_roundness`: of how much of the girth seen.
bool looks_like_a_log(const RoughAxis& axis, const PartedLog& log, double least_roundness);

/// Whether its lower part, which was not seen, cannot be there: soil is seen inside, or the log
/// would lie deep in it. So it is with half a log that lies on its flat side.
bool is_sunk_in_soil(const PartedLog& log, const LogFrame& frame,
                     const std::optional<Ground>& ground);

}  // namespace kerfwright
