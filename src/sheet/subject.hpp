#pragma once

#include <functional>
#include <vector>

#include "pieces.hpp"
#include "svg.hpp"

namespace kerfwright::sheet {

/// What every view needs.
struct Subject {
  const SawPlan& plan;
  const LogShape& shape;
  std::vector<Flitch> flitches;
  Frame frame;  ///< of the main setup
};

/// A drawing whose size depends on the scale, mm of log on one mm of paper.
struct Figure {
  std::function<Point(double scale)> size;  ///< width and height, mm of paper
  std::function<void(Svg& svg, const Point& corner, double scale)> draw;
};

}  // namespace kerfwright::sheet
