#include "kerfwright/saw/saw_plan.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "frame.hpp"

namespace kerfwright {

Eigen::Vector3d setup_up(const Setup& setup, double length) {
  const double slope = (setup.lift_top - setup.lift_butt) / length;
  return saw::Frame({setup.roll * std::numbers::pi / 180.0, slope}).up;
}

Setup setup_with_up(const Eigen::Vector3d& up, double length) {
  Setup setup;
  setup.roll = std::atan2(up.y(), up.z()) * 180.0 / std::numbers::pi;
  setup.roll -= 360.0 * std::floor(setup.roll / 360.0 + 1e-12);
  setup.roll = std::max(0.0, setup.roll);
  const double lift = std::clamp(up.x(), -1.0, 1.0) * length;
  setup.lift_top = std::max(0.0, lift);
  setup.lift_butt = std::max(0.0, -lift);
  return setup;
}

}  // namespace kerfwright
