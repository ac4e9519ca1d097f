#pragma once

#include <Eigen/Core>
#include <vector>

#include "kerfwright/saw/saw_plan.hpp"

/// Edges a flitch by what it shows, as a person would: written apart from the planner's edging.
namespace kerfwright {

/// Products of one thickness, and what a clear run of each is worth.
struct Ripping {
  std::vector<const Product*> products;
  std::vector<std::vector<double>> runs;  ///< [product][mm]
};

/// @param length mm, the longest run there can be
Ripping ripping_of(const SawPlan& plan, double thickness, double length);

/// What of a flitch is wood, station by station, across from the line that lanes follow.
struct ClearWood {
  std::vector<double> x;
  std::vector<Eigen::Vector2d> clear;
  bool face_left = false, face_right = false;  ///< a sawn face of a cant, at 0
};

/// A stretch of it, with ends of its own between stations.
ClearWood between(const ClearWood& wood, double from, double to);

/// What its boards fetch, in one piece or cut across at the places first, whichever is more; lanes
/// level, along the middle of what is clear, along an edge, or as planned.
/// @param planned leans, mm across a mm along
double edged(const Ripping& ripping, const ClearWood& wood, std::vector<double> places,
             const std::vector<double>& planned, double kerf);

}  // namespace kerfwright
