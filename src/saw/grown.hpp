#pragma once

#include <vector>

#include "profile.hpp"

namespace kerfwright::saw {

/// All poses whose roll and slope differ from those of the middle by no more than these.
struct PoseCell {
  Pose middle;
  double half_roll = 0;   ///< radians
  double half_slope = 0;  ///< of the sine
};

/// For each strip of heights, how far the wood reaches in any pose of the cell: no pose's profile
/// reaches further anywhere, once it is moved up or down by whole steps (the same for all strips).
///
/// The solid is not grown by how far its points move, but only by how far they move out of it: an
/// edge of a section, turned about the chord from one end of the cell to the other, sweeps what
/// lies between its two last places and the arcs of its corners. Those are crossed with the level
/// lines, and a level takes the furthest reach of all levels that the change of slope can bring
/// there. Where a level line crosses the wood more than once, everything between counts.
std::vector<Interval> grown_strips(const Wood& wood, const PoseCell& cell, const HeightGrid& grid);

/// Furthest that a point `reach` mm from the chord moves across the bed when the log is turned
/// within the cell, and up or down when it is turned and lifted, mm.
double most_aside(const PoseCell& cell, double reach);
double most_aloft(const PoseCell& cell, double reach, double length);

/// [level] the wood that a cut with its upper side there meets in whatever pose of the cell; in
/// levels so near to the grid's ends that it may lie beyond, none.
std::vector<Interval> shared_cuts(const Wood& wood, const PoseCell& cell, const HeightGrid& grid,
                                  int kerf_strips);

/// mm that the surface moves out of itself for a radian of turn and for a slope, in the mean.
struct Growth {
  double per_roll = 0, per_slope = 0;
  double of(const PoseCell& cell) const {
    return cell.half_roll * per_roll + cell.half_slope * per_slope;
  }
};
Growth growth_of(const Wood& wood);

}  // namespace kerfwright::saw
