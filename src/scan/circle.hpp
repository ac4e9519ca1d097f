#pragma once

#include <Eigen/Core>
#include <vector>

namespace kerfwright {

struct SectionCircle {
  Eigen::Vector2d centre = Eigen::Vector2d::Zero();
  double radius = 0.0;
};

/// How well points carry a circle.
struct CircleSupport {
  SectionCircle circle;
  double girth = 0.0;   ///< share of the girth with points on it, 0 to 1
  double share = 0.0;   ///< of the points out to 1.4 radii, those on it
  int points = 0;       ///< on it
  double spread = 0.0;  ///< root mean square distance of those, in radii
};

/// A circle near `start`, fitted to the points about it: each part of the girth counts the same
/// however many points it has, points off the circle by more than a share of the radius count
/// little (Tukey's biweight), and where few parts are seen `start` holds it.
CircleSupport fit_circle_near(const std::vector<Eigen::Vector2d>& points,
                              const SectionCircle& start);

}  // namespace kerfwright
