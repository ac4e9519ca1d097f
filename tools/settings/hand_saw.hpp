#pragma once

#include <Eigen/Core>
#include <vector>

#include "invented/dice.hpp"
#include "kerfwright/saw/saw_plan.hpp"
#include "kerfwright/shape/log_shape.hpp"

/// Saws a plan as a person would who sets a little wrong, and edges each flitch by what it shows:
/// written apart from the planner, to judge it. Plans without wane and marks only.
namespace kerfwright {

/// One standard deviation each.
struct Sloppiness {
  double turn = 2.0;   ///< degrees
  double lift = 3.0;   ///< mm, each end
  double blade = 1.0;  ///< mm, each cut, and again between its middle and its ends
};

/// A solid as outlines at stations, in a frame of its own.
struct Solid {
  std::vector<double> x;                               ///< mm
  std::vector<std::vector<Eigen::Vector2d>> outlines;  ///< [station] (y, z) under bark, mm
};

/// The shape as it is.
Solid solid_of(const LogShape& shape);
/// The shape with its surface off by its own sigma, in patches about 0.35 m long.
Solid drawn_solid(const LogShape& shape, Dice& dice);

/// A cut as it was sawn: normal . p = distance, plan frame.
struct SlippedCut {
  Eigen::Vector3d normal;
  double distance = 0;
};

/// [cut] As planned.
std::vector<SlippedCut> saw_exactly(const SawPlan& plan);

/// [cut] Where the saw went. What lies on bark is turned and lifted wrongly; what stands with a
/// sawn face against the stops is lifted wrongly; what lies on a sawn face follows it.
std::vector<SlippedCut> saw_by_hand(const SawPlan& plan, const LogShape& shape,
                                    const Sloppiness& sloppy, Dice& dice);

/// What the boards fetch that come out of the solid: flitches cut across where the plan says or not
/// at all, lanes along the middle, along an edge or level, pieces by the length.
/// @param to_solid from the plan's frame to the solid's; turns and moves only
double edge_by_hand(const SawPlan& plan, const std::vector<SlippedCut>& cuts, const Solid& solid,
                    const Eigen::Matrix4d& to_solid);

}  // namespace kerfwright
