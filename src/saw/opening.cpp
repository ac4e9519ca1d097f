#include "kerfwright/saw/opening.hpp"

#include <algorithm>

#include "kerfwright/shape/section.hpp"

namespace kerfwright {
namespace {

/// Greatest height of the outline at x, in the direction `up`.
double top_at(const LogShape& shape, double x, const Eigen::Vector3d& up) {
  double most = -1e9;
  for (const Eigen::Vector2d& p : section_outline_at(shape, x, Bark::on)) {
    most = std::max(most, up.dot(Eigen::Vector3d(x, p.x(), p.y())));
  }
  return most;
}

}  // namespace

double bed_under(const LogShape& shape, const Mill& mill, const Eigen::Vector3d& up,
                 const std::function<bool(const Eigen::Vector3d&)>& is_left) {
  double lowest = 1e9;
  for (const double bunk : mill.bunks) {
    const double x = std::clamp(bunk, 0.0, shape.length());
    for (const Eigen::Vector2d& p : section_outline_at(shape, x, Bark::on)) {
      const Eigen::Vector3d point(x, p.x(), p.y());
      if (!is_left || is_left(point)) lowest = std::min(lowest, up.dot(point));
    }
  }
  return lowest;
}

Opening opening_of(const SawPlan& plan, const LogShape& shape) {
  const Cut& cut = plan.cuts.front();
  const Setup& setup = *std::find_if(plan.setups.begin(), plan.setups.end(),
                                     [&](const Setup& s) { return s.n == cut.setup; });
  const Eigen::Vector3d up = setup_up(setup, shape.length());
  const double height = up.dot(cut.point);
  const double length = shape.length();
  const auto centre = [&](double x, const Eigen::Vector2d& axis) {
    return up.dot(Eigen::Vector3d(x, axis.x(), axis.y()));
  };
  Opening opening;
  opening.turn = setup.roll;
  opening.lift_butt = setup.lift_butt;
  opening.lift_top = setup.lift_top;
  opening.above_bed = height - bed_under(shape, plan.mill, up);
  opening.above_butt_centre = height - centre(0.0, shape.axis.front());
  opening.above_top_centre = height - centre(length, shape.axis.back());
  const double above_kerf = height + 0.5 * cut.kerf;
  opening.slab_butt = std::max(0.0, top_at(shape, 0.0, up) - above_kerf);
  opening.slab_top = std::max(0.0, top_at(shape, length, up) - above_kerf);
  return opening;
}

}  // namespace kerfwright
