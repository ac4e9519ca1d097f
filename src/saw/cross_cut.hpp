#pragma once

#include <vector>

#include "planner.hpp"

namespace kerfwright::saw {

/// Where to cross-cut, as indices of places 0 … n along a log of which 0 and n are its ends.
struct Partition {
  double worth = 0;
  std::vector<int> cuts;  ///< increasing, none of them an end
};

/// The best way to cut a log into exactly `parts`, by dynamic programming over the places:
///   V(k, j) = max over i < j of V(k - 1, i) + worth[i][j] - cut_cost[i],
/// V(1, j) = worth[0][j]. Of equal ways the one with the earlier last cut wins.
/// @param worth [from][to] of a part
/// @param cut_cost [place]
Partition best_partition(const std::vector<std::vector<double>>& worth,
                         const std::vector<double>& cut_cost, int parts);

/// The best plan that cross-cuts the log into two or three parts before anything else, or none
/// (no boards) where that cannot help.
///
/// The places are found on a grid with the quick worth of each part, exactly for that grid and
/// worth, then moved while that pays; the parts are planned in full, each as a log of its own along
/// its own chord, the one that is worth most first so that it takes what the order wants.
/// @param must the log is to be cut even where that is worth less
Planned plan_in_parts(const LogShape& log, const Order& order, const Mill& mill,
                      const PlanSettings& settings, bool must);

}  // namespace kerfwright::saw
