#include "search_log.hpp"

#include <algorithm>
#include <cmath>

#include "label_points.hpp"
#include "part_log.hpp"
#include "round_things.hpp"

namespace kerfwright {
namespace {

/// mm from a point to the surface of a round thing, or to its axis' ends.
double distance_to(const RoughAxis& axis, const Eigen::Vector3d& point) {
  double least = 1e300;
  for (std::size_t i = 0; i < axis.centre.size(); ++i)
    least = std::min(least, (axis.centre[i] - point).norm() - axis.radius[i]);
  return least;
}

void sort_by_distance(std::vector<RoughAxis>& axes, const Eigen::Vector3d& near) {
  std::stable_sort(axes.begin(), axes.end(), [&](const RoughAxis& a, const RoughAxis& b) {
    return distance_to(a, near) < distance_to(b, near);
  });
}

/// The search judges grass, rests and faces in millimetres; what lies far from any log's size is
/// brought near it.
double search_scale(const Points& points) {
  const double longest = robust_extent(points).size().maxCoeff();
  if (longest < 300.0) return 1000.0 / std::max(longest, 1e-9);
  return longest > 60000.0 ? 4000.0 / longest : 1.0;
}

/// Mean diameter over the eighth of the length nearest to an end, without the outermost circle.
double end_diameter(const RoughAxis& axis, bool first) {
  const std::size_t n = axis.radius.size();
  const std::size_t reach = std::max<std::size_t>(2, n / 8);
  double sum = 0.0;
  for (std::size_t i = 1; i <= reach; ++i) sum += axis.radius[first ? i : n - 1 - i];
  return 2.0 * sum / static_cast<double>(reach);
}

/// All that is said of a log is said in the scan's own scale.
FoundLog report(const PartedLog& parted, const LogFrame& frame, const RoughAxis& axis,
                double scale) {
  FoundLog log;
  log.length = parted.length / scale;
  log.diameter = parted.diameter / scale;
  const double first = end_diameter(axis, true) / scale, last = end_diameter(axis, false) / scale;
  log.thick_end = std::max(first, last);
  log.thin_end = std::min(first, last);
  for (const LogEnd& end : {parted.ends.first, parted.ends.last})
    if (!end.face) log.open_ends.push_back({frame.centre(end.along) / scale, false});
  return log;
}

SearchResult search_at_scale(const Points& points, const std::optional<Eigen::Vector3d>& up,
                             const std::optional<Eigen::Vector3d>& near, double scale) {
  const Yard yard = survey(points, up);
  const double longest_radius = 0.6 * robust_extent(points).size().maxCoeff();
  std::vector<RoughAxis> axes = find_round_things(yard, longest_radius);
  put_log_before_poles(axes);
  if (near) sort_by_distance(axes, *near);
  const std::optional<Eigen::Vector3d> upward = up            ? up
                                                : yard.ground ? std::optional(yard.ground->up())
                                                              : std::nullopt;
  for (std::size_t i = 0; i < std::min<std::size_t>(axes.size(), 3); ++i) {
    const LogFrame frame(axes[i], upward);
    const PartedLog parted = part_log(points, yard, axes[i], frame);
    if (!looks_like_a_log(axes[i], parted)) continue;
    FoundLog log = report(parted, frame, axes[i], scale);
    if (yard.ground) log.ground_up = yard.ground->up();
    log.upright = upward && !frame.knows_up();
    std::vector<const RoughAxis*> others;
    for (const std::size_t k : other_round_things(axes, i)) {
      others.push_back(&axes[k]);
      log.others.push_back({axes[k].centre[axes[k].centre.size() / 2] / scale,
                            axes[k].length() / scale, 2.0 * axes[k].mean_radius() / scale});
    }
    log.labels = label_points({points, yard, frame, parted, others, nullptr});
    return {std::move(log), {}};
  }
  return {std::nullopt, describe(yard, scale)};
}

}  // namespace

SearchResult search_log(const Points& points, const std::optional<Eigen::Vector3d>& up,
                        const std::optional<Eigen::Vector3d>& near) {
  const double scale = search_scale(points);
  if (scale == 1.0) return search_at_scale(points, up, near, scale);
  Points scaled = points;
  for (Eigen::Vector3f& point : scaled) point *= static_cast<float>(scale);
  std::optional<Eigen::Vector3d> near_scaled = near;
  if (near) *near_scaled *= scale;
  return search_at_scale(scaled, up, near_scaled, scale);
}

}  // namespace kerfwright
