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

Opening opening_by(const Cut& cut, const Setup& setup, const std::string& piece, const Mill& mill,
                   const LogShape& shape) {
  const Eigen::Vector3d up = setup_up(setup, shape.length());
  const double height = up.dot(cut.point);
  const LogPart ends =
      setup.part.value_or(LogPart{piece,
                                  {0.0, shape.axis.front().x(), shape.axis.front().y()},
                                  {shape.length(), shape.axis.back().x(), shape.axis.back().y()}});
  Opening opening;
  opening.piece = piece;
  opening.turn = setup.roll;
  opening.lift_butt = setup.lift_butt;
  opening.lift_top = setup.lift_top;
  if (setup.part) {
    const double lift = up.dot(ends.top - ends.butt);
    opening.lift_butt = std::max(0.0, -lift);
    opening.lift_top = std::max(0.0, lift);
  }
  double bed = 1e9;
  for (const double bunk : mill.bunks) {
    const double x = std::clamp(ends.butt.x() + bunk, ends.butt.x(), ends.top.x());
    bed = std::min(bed, -top_at(shape, x, -up));
  }
  opening.above_bed = height - bed;
  opening.above_butt_centre = height - up.dot(ends.butt);
  opening.above_top_centre = height - up.dot(ends.top);
  const double above_kerf = height + 0.5 * cut.kerf;
  opening.slab_butt = std::max(0.0, top_at(shape, ends.butt.x(), up) - above_kerf);
  opening.slab_top = std::max(0.0, top_at(shape, ends.top.x(), up) - above_kerf);
  return opening;
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

std::vector<Opening> openings_of(const SawPlan& plan, const LogShape& shape) {
  std::vector<Opening> openings;
  std::vector<std::string> known;
  for (const Cut& cut : plan.cuts) {
    const auto setup = std::find_if(plan.setups.begin(), plan.setups.end(),
                                    [&](const Setup& s) { return s.n == cut.setup; });
    if (setup == plan.setups.end() || setup->kind != SetupKind::log) continue;
    const std::string piece = setup->part ? setup->part->piece : "log";
    if (std::find(known.begin(), known.end(), piece) != known.end()) continue;
    known.push_back(piece);
    openings.push_back(opening_by(cut, *setup, piece, plan.mill, shape));
  }
  return openings;
}

}  // namespace kerfwright
