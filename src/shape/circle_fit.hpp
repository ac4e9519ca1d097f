#pragma once

#include <Eigen/Core>
#include <optional>
#include <vector>

namespace kerfwright {

struct Circle {
  Eigen::Vector2d centre{0, 0};
  double radius = 0;
  double spread = 0;  ///< robust standard deviation of the points' distances to it
};

/// The circle through most of the points, full turn or arc, whatever the rest does: the best of
/// many circles through three points (least median of squares, Rousseeuw 1984), then weighted
/// algebraic fits. `largest` bounds the radius. Empty where the points carry none.
std::optional<Circle> fit_circle(const std::vector<Eigen::Vector2d>& points, double largest);

}  // namespace kerfwright
