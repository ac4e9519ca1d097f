#include "placement.hpp"

#include <Eigen/Dense>
#include <algorithm>
#include <cmath>
#include <numbers>

#include "direction.hpp"
#include "kerfwright/error.hpp"
#include "robust.hpp"

namespace kerfwright {
namespace {

constexpr std::size_t enough_points = 200000;  ///< for the frame; all are used for the surface
constexpr double even_cube = 12.0;             ///< mm

[[noreturn]] void no_axis() {
  throw UserError(
      Fault::no_log,
      "The points carry no log: no round sections were found along their longest extent; "
      "check that the scan shows one log and that the unit is right.");
}

/// x, y, z of a frame as rows of a rotation.
Eigen::Matrix3d axes_of(const Eigen::Vector3d& along, const Eigen::Vector3d& up) {
  Eigen::Matrix3d rows;
  const Eigen::Vector3d z = (up - up.dot(along) * along).normalized();
  rows << along.transpose(), z.cross(along).transpose(), z.transpose();
  return rows;
}

/// The frame with its origin at `from` and x towards `to`.
Eigen::Isometry3d frame_between(const Eigen::Vector3d& from, const Eigen::Vector3d& to,
                                const Eigen::Vector3d& up) {
  Eigen::Isometry3d frame = Eigen::Isometry3d::Identity();
  frame.linear() = axes_of((to - from).normalized(), up);
  frame.translation() = -(frame.linear() * from);
  return frame;
}

/// Which way z goes. A log nearer to upright than 30 degrees has no "up as it lay".
void choose_up(const Scan& log, const Eigen::Vector3d& along, Placement& placement) {
  const bool z_is_across = std::abs(along.z()) < 0.8;
  placement.up = z_is_across ? Eigen::Vector3d::UnitZ() : Eigen::Vector3d::UnitX();
  const std::string side = z_is_across ? "z" : "x";
  if (!log.up) {
    placement.notes.push_back(
        "Which way is up is not known: clock positions count from the scan's own " + side +
        " axis; mark 12 o'clock on the log before sawing.");
  } else if (std::abs(log.up->normalized().dot(along)) > std::cos(std::numbers::pi / 6.0)) {
    placement.notes.push_back(
        "The log stands upright in the scan: clock positions count from the scan's own " + side +
        " axis; mark 12 o'clock on the log before sawing.");
  } else {
    placement.up = log.up->normalized();
  }
}

struct Extent {
  double from = 0, to = 0;
};

Extent extent_along_x(const Cloud& points) {
  std::vector<double> xs;
  xs.reserve(points.size());
  for (const auto& p : points) xs.push_back(p.x());
  return {quantile(xs, 0.003), quantile(xs, 0.997)};
}

Spine find_spine(const Cloud& points, const Spine& before, double from, double to) {
  const auto sections = slice_circles(points, before, from, to);
  if (sections.size() < 3) no_axis();
  return smooth_through(sections, before.basis);
}

/// One look at the log in the present frame: spine clear of the ends, ends, spine of the bark
/// alone.
void look(const Cloud& points, Placement& placement) {
  const Extent reach = extent_along_x(points);
  const double inset = std::min(0.08 * (reach.to - reach.from), 120.0);
  const EvenSpline basis = even_spline(reach.from - 20.0, reach.to + 20.0,
                                       std::clamp((reach.to - reach.from) / 4.0, 250.0, 600.0), 3);
  Spine spine{basis, Eigen::MatrixX3d::Zero(basis.size(), 3)};
  spine = find_spine(points, spine, reach.from + inset, reach.to - inset);
  spine = find_spine(points, spine, reach.from + 0.5 * inset, reach.to - 0.5 * inset);
  placement.butt = find_end(points, spine, -1);
  placement.top = find_end(points, spine, +1);
  Cloud bark;
  for (const auto& p : points) {
    if (on_bark(placement, p)) bark.push_back(p);
  }
  for (int round = 0; round < 2; ++round) spine = find_spine(bark, spine, reach.from, reach.to);
  placement.spine = spine;
}

void move_frame(Placement& placement, const Eigen::Isometry3d& frame) {
  const Eigen::Isometry3d move = frame * placement.scan_to_log.inverse();
  placement.spine = moved(placement.spine, move);
  placement.butt = moved(placement.butt, move);
  placement.top = moved(placement.top, move);
  placement.scan_to_log = frame;
  if (placement.butt.at > placement.top.at) std::swap(placement.butt, placement.top);
}

/// By the median radius of the last 12 % at either end.
bool thicker_at_top(const Spine& spine, double from, double to) {
  std::vector<double> low, high;
  for (int i = 0; i <= 12; ++i) {
    const double inward = 0.01 * i * (to - from);
    low.push_back(spine(from + inward)[2]);
    high.push_back(spine(to - inward)[2]);
  }
  return median(std::move(high)) > median(std::move(low)) + 1e-6;
}

}  // namespace

void settle(Placement& placement) {
  for (int round = 0; round < 3; ++round) {
    double from = whole_from(placement.butt, placement.spine, -1);
    double to = whole_from(placement.top, placement.spine, +1);
    if (to - from < 50.0) no_axis();
    if (round == 0 && thicker_at_top(placement.spine, from, to)) std::swap(from, to);
    const Eigen::Isometry3d back = placement.scan_to_log.inverse();
    move_frame(placement, frame_between(back * on_spine(placement.spine, from),
                                        back * on_spine(placement.spine, to), placement.up));
  }
  placement.length = whole_from(placement.top, placement.spine, +1);
}

bool on_bark(const Placement& placement, const Eigen::Vector3d& point) {
  const auto margin = [](const EndFace& face) {
    return face.scanned ? std::max(4.0, 3.0 * face.spread) : -30.0;
  };
  const Eigen::Vector2d yz = point.tail<2>();
  return point.x() > placement.butt.x(yz) + margin(placement.butt) &&
         point.x() < placement.top.x(yz) - margin(placement.top);
}

Placement place_log(const Scan& log) {
  if (log.points.size() < 100) no_axis();
  Cloud some;
  const std::size_t stride = (log.points.size() + enough_points - 1) / enough_points;
  for (std::size_t i = 0; i < log.points.size(); i += stride) {
    some.push_back(log.points[i].cast<double>());
  }
  some = thin(some, even_cube);
  Placement placement;
  const Eigen::Vector3d along = rough_direction(thin(some, 2.0 * even_cube));
  choose_up(log, along, placement);
  placement.scan_to_log = frame_between(Eigen::Vector3d::Zero(), along, placement.up);
  for (int round = 0; round < 3; ++round) {
    Cloud moved_points;
    for (const auto& p : some) moved_points.push_back(placement.scan_to_log * p);
    look(moved_points, placement);
    settle(placement);
  }
  return placement;
}

}  // namespace kerfwright
