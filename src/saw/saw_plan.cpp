#include "kerfwright/saw/saw_plan.hpp"

#include <numbers>

#include "frame.hpp"

namespace kerfwright {

Eigen::Vector3d setup_up(const Setup& setup, double length) {
  const double slope = (setup.lift_top - setup.lift_butt) / length;
  return saw::Frame({setup.roll * std::numbers::pi / 180.0, slope}).up;
}

}  // namespace kerfwright
