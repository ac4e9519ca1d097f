#include "search_log.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdio>

#include "search_cloud.hpp"

namespace kerfwright {
namespace {

constexpr std::size_t most_groups = 6;
constexpr std::size_t most_followed = 6;

/// What stands on the ground, thinned, strays taken away.
struct Yard {
  double leaf = 0.0;  ///< mm
  std::optional<Ground> ground;
  Points objects;
  std::vector<std::vector<std::uint32_t>> groups;  ///< of objects, the largest first
};

Extent widened(const Extent& extent) {
  const Eigen::Vector3d margin =
      0.3 * extent.size() + Eigen::Vector3d::Constant(0.1 * extent.size().maxCoeff());
  return {extent.low - margin, extent.high + margin};
}

Yard survey(const Points& points, const std::optional<Eigen::Vector3d>& up) {
  const Extent extent = robust_extent(points);
  const double longest = extent.size().maxCoeff();
  Yard yard;
  yard.leaf = std::max(std::min(longest / 256.0, 20.0), longest / 1200.0);
  const Points thin = thin_points(points, widened(extent), yard.leaf);
  yard.ground = find_ground(thin, yard.leaf, up ? &*up : nullptr);
  for (const Eigen::Vector3f& p : thin)
    if (!yard.ground || yard.ground->height(p.cast<double>()) > yard.ground->reach())
      yard.objects.push_back(p);
  yard.objects = without_strays(yard.objects);
  yard.groups = connected_groups(yard.objects, 4.0 * yard.leaf, 40);
  return yard;
}

bool is_covered(const std::vector<RoughAxis>& axes, const Cylinder& cylinder) {
  return std::any_of(axes.begin(), axes.end(),
                     [&](const RoughAxis& axis) { return radii_from(axis, cylinder.point) < 1.3; });
}

bool is_long_enough(const RoughAxis& axis) {
  return axis.centre.size() >= 4 && axis.length() > 0.9 * axis.mean_radius();
}

/// What speaks for a round thing being the log: how much of it was seen, how cleanly it is round.
/// Points strewn evenly over the band in which circles take points have a spread of 0.069.
double merit(const RoughAxis& axis) {
  return axis.points * axis.share * axis.share * std::max(0.0, 0.072 - axis.spread);
}

/// Round things in the yard, the one with the most merit first.
std::vector<RoughAxis> find_round_things(const Yard& yard, double longest_radius) {
  std::vector<RoughAxis> axes;
  std::size_t followed = 0;
  for (std::size_t g = 0; g < std::min(most_groups, yard.groups.size()); ++g) {
    if (20 * yard.groups[g].size() < yard.groups[0].size()) break;
    Points group;
    for (const std::uint32_t i : yard.groups[g]) group.push_back(yard.objects[i]);
    for (const Cylinder& cylinder : find_cylinders(group, yard.leaf, longest_radius)) {
      if (followed >= most_followed * (g + 1)) break;
      if (is_covered(axes, cylinder)) continue;
      ++followed;
      RoughAxis axis = follow_axis(yard.objects, cylinder, yard.leaf);
      if (is_long_enough(axis)) axes.push_back(std::move(axis));
    }
  }
  std::stable_sort(axes.begin(), axes.end(),
                   [](const RoughAxis& a, const RoughAxis& b) { return merit(a) > merit(b); });
  return axes;
}

std::string sized(double mm) {
  std::array<char, 32> text{};
  std::snprintf(text.data(), text.size(), mm < 1000.0 ? "%.2f" : "%.1f", mm / 1000.0);
  return text.data();
}

/// For the sentence that says what there is where no log is.
std::string describe(const Yard& yard, std::size_t points) {
  std::string words;
  if (yard.ground)
    words = "a flat surface of " + sized(yard.ground->length()) + " by " +
            sized(yard.ground->width()) + " m";
  if (!yard.groups.empty()) {
    Points group;
    for (const std::uint32_t i : yard.groups[0]) group.push_back(yard.objects[i]);
    const Eigen::Vector3d size = robust_extent(group).size();
    if (!words.empty()) words += " and ";
    words += "a thing of " + sized(size.x()) + " by " + sized(size.y()) + " by " + sized(size.z()) +
             " m that is not round along its length";
  }
  if (words.empty()) return std::to_string(points) + " loose points";
  if (yard.ground && yard.groups.empty())
    words += " and " + std::to_string(yard.objects.size()) + " loose points";
  return words;
}

FoundLog part_log(const Points& points, const Yard& yard, const RoughAxis& axis,
                  const std::optional<Eigen::Vector3d>& up) {
  const LogFrame frame(axis, up);
  const Unwrapped near = frame.unwrap(points, 2.3);
  const LogEnds ends = find_ends(near, frame);
  const double step =
      std::max(0.25 * axis.mean_radius(), (ends.last.along - ends.first.along) / 200.0);
  RoughSurface surface(ends.first.along, ends.last.along, step);
  surface.fit(near, {}, 50.0);
  const WoodInput input{points, near, frame, ends, surface, yard.ground};
  std::vector<Part> parts = part_points(input);
  std::vector<unsigned char> foreign(parts.size());
  for (std::size_t i = 0; i < parts.size(); ++i) foreign[i] = parts[i] != Part::bark;
  surface.fit(near, foreign, 0.5);
  parts = part_points(input);
  FoundLog log;
  for (std::size_t i = 0; i < parts.size(); ++i) {
    if (parts[i] == Part::bark || parts[i] == Part::face) log.wood.push_back(near.index[i]);
    if (parts[i] == Part::stray) ++log.stray_points;
  }
  log.ground = yard.ground;
  log.length = (frame.centre(ends.last.along) - frame.centre(ends.first.along)).norm();
  log.diameter = 2.0 * axis.mean_radius();
  log.girth = surface.girth();
  log.faces[0] = ends.first.face;
  log.faces[1] = ends.last.face;
  return log;
}

bool looks_like_a_log(const RoughAxis& axis, const FoundLog& log) {
  return log.length > 0.75 * log.diameter && log.girth > 0.2 && axis.share > 0.5;
}

}  // namespace

SearchResult search_log(const Points& points, const std::optional<Eigen::Vector3d>& up) {
  const Yard yard = survey(points, up);
  const double longest_radius = 0.6 * robust_extent(points).size().maxCoeff();
  const std::vector<RoughAxis> axes = find_round_things(yard, longest_radius);
  const std::optional<Eigen::Vector3d> upward = up            ? up
                                                : yard.ground ? std::optional(yard.ground->up())
                                                              : std::nullopt;
  for (std::size_t i = 0; i < std::min<std::size_t>(axes.size(), 3); ++i) {
    FoundLog log = part_log(points, yard, axes[i], upward);
    if (!looks_like_a_log(axes[i], log)) continue;
    log.other_logs = static_cast<int>(std::count_if(
        axes.begin() + static_cast<std::ptrdiff_t>(i) + 1, axes.end(), [&](const RoughAxis& axis) {
          return axis.length() > 4.0 * axis.mean_radius() && merit(axis) > 0.1 * merit(axes[i]);
        }));
    return {std::move(log), {}};
  }
  return {std::nullopt, describe(yard, points.size())};
}

}  // namespace kerfwright
