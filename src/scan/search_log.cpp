#include "search_log.hpp"

#include <Eigen/Eigenvalues>
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

CloudExtent widened(const CloudExtent& extent) {
  const Eigen::Vector3d margin =
      0.3 * extent.size() + Eigen::Vector3d::Constant(0.1 * extent.size().maxCoeff());
  return {extent.low - margin, extent.high + margin};
}

Yard survey(const Points& points, const std::optional<Eigen::Vector3d>& up) {
  const CloudExtent extent = robust_extent(points);
  const double longest = extent.size().maxCoeff();
  Yard yard;
  yard.leaf = std::max(std::min(longest / 200.0, 20.0), longest / 1200.0);
  const Points thin = thin_points(points, widened(extent), yard.leaf);
  yard.ground = find_ground(thin, yard.leaf, up ? &*up : nullptr);
  for (const Eigen::Vector3f& p : thin)
    if (!yard.ground || yard.ground->height(p.cast<double>()) > yard.ground->reach())
      yard.objects.push_back(p);
  yard.objects = without_strays(yard.objects);
  // A sparse cloud is searched as coarsely as it is.
  yard.leaf = std::max(yard.leaf, 0.8 * usual_spacing(yard.objects));
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

Eigen::Vector3d run_of(const RoughAxis& axis) {
  return (axis.centre.back() - axis.centre.front()).normalized();
}

/// mm from the surface of one round thing to that of the other, where they are nearest.
double gap_between(const RoughAxis& a, const RoughAxis& b) {
  double least = 1e300;
  for (std::size_t i = 0; i < a.centre.size(); ++i)
    for (std::size_t j = 0; j < b.centre.size(); ++j)
      least = std::min(least, (a.centre[i] - b.centre[j]).norm() - a.radius[i] - b.radius[j]);
  return least;
}

/// Poles are seen all round and may show more surface than a short log that lies across them: of
/// two round things that touch crosswise the thicker is the log.
void put_log_before_poles(std::vector<RoughAxis>& axes) {
  for (std::size_t i = 1; i < axes.size(); ++i) {
    const RoughAxis& pole = axes[0];
    const RoughAxis& log = axes[i];
    const bool crosswise = std::abs(run_of(pole).dot(run_of(log))) < 0.7;
    const bool clean = log.share > 0.65 && log.spread < 0.057 && merit(log) > 0.1 * merit(pole);
    const bool touching = gap_between(pole, log) < 0.5 * pole.mean_radius();
    if (!crosswise || !clean || !touching || log.mean_radius() < 1.3 * pole.mean_radius()) continue;
    std::rotate(axes.begin(), axes.begin() + static_cast<std::ptrdiff_t>(i),
                axes.begin() + static_cast<std::ptrdiff_t>(i) + 1);
    return;
  }
}

std::string in_metres(double mm) {
  std::array<char, 32> text{};
  std::snprintf(text.data(), text.size(), mm < 1000.0 ? "%.2f" : "%.1f", mm / 1000.0);
  return text.data();
}

/// The three sizes of a group, the longest first, along its own axes.
Eigen::Vector3d sizes_of(const Points& points) {
  Eigen::Vector3d mean = Eigen::Vector3d::Zero();
  for (const Eigen::Vector3f& p : points)
    mean += p.cast<double>() / static_cast<double>(points.size());
  Eigen::Matrix3d spread = Eigen::Matrix3d::Zero();
  for (const Eigen::Vector3f& p : points)
    spread += (p.cast<double>() - mean) * (p.cast<double>() - mean).transpose();
  const Eigen::Matrix3d axes =
      Eigen::SelfAdjointEigenSolver<Eigen::Matrix3d>(spread).eigenvectors();
  std::vector<Eigen::Vector3d> turned;
  for (const Eigen::Vector3f& p : points) turned.push_back(axes.transpose() * p.cast<double>());
  return robust_extent(turned).size().reverse();
}

std::string flat_surface(double length, double width) {
  return "a flat surface of " + in_metres(length) + " by " + in_metres(width) + " m";
}

/// For the sentence that says what there is where no log is.
std::string describe(const Yard& yard, double scale) {
  std::vector<std::string> things;
  if (yard.ground)
    things.push_back(flat_surface(yard.ground->length() / scale, yard.ground->width() / scale));
  std::size_t loose = yard.objects.size();
  if (!yard.groups.empty()) {
    Points group;
    for (const std::uint32_t i : yard.groups[0]) group.push_back(yard.objects[i]);
    const Eigen::Vector3d size = sizes_of(group) / scale;
    things.push_back(size.z() < 0.03 * size.y()
                         ? flat_surface(size.x(), size.y())
                         : "a thing of " + in_metres(size.x()) + " by " + in_metres(size.y()) +
                               " by " + in_metres(size.z()) +
                               " m that is not round along its length");
    for (const auto& g : yard.groups) loose -= g.size();
  }
  if (loose > 0 || things.empty()) things.push_back(std::to_string(loose) + " loose points");
  std::string words = things[0];
  for (std::size_t i = 1; i < things.size(); ++i)
    words += (i + 1 < things.size() ? ", " : " and ") + things[i];
  return words;
}

/// Points that stand before an end face within half a radius, per point of the faces: next to none
/// for a log, many for a ball, whose caps are taken for faces.
double bulge(const Unwrapped& near, const std::vector<Part>& parts, const LogFrame& frame,
             const LogEnds& ends) {
  std::size_t before = 0, on = 0;
  for (std::size_t i = 0; i < parts.size(); ++i) {
    if (near.out[i] > 0.8f) continue;
    const double r = near.out[i] * frame.radius(near.along[i]);
    const Eigen::Vector2d side(r * std::cos(near.angle[i]), r * std::sin(near.angle[i]));
    const LogEnd& end = near.along[i] < 0.5 * frame.length() ? ends.first : ends.last;
    const double beyond = end.beyond(near.along[i], side);
    if (parts[i] == Part::face) ++on;
    if (parts[i] == Part::foreign && beyond > 0.0 && beyond < 0.5 * frame.radius(near.along[i]))
      ++before;
  }
  return on > 0 ? static_cast<double>(before) / static_cast<double>(on) : 0.0;
}

std::vector<unsigned char> all_but_bark(const std::vector<Part>& parts) {
  std::vector<unsigned char> left_out(parts.size());
  for (std::size_t i = 0; i < parts.size(); ++i) left_out[i] = parts[i] != Part::bark;
  return left_out;
}

void note_ground(const Points& points, const std::optional<Ground>& ground, FoundLog& log) {
  if (!ground) return;
  log.ground_up = ground->up();
  const auto is_soil = [&](const Eigen::Vector3f& p) {
    return ground->height(p.cast<double>()) <= ground->reach();
  };
  log.ground_points =
      static_cast<std::size_t>(std::count_if(points.begin(), points.end(), is_soil));
}

/// Straightens the log, finds its ends and its surface, and parts its points from the rest: twice,
/// since what the first parting takes for a rest must not draw on the surface of the second.
FoundLog part_log(const Points& points, const Yard& yard, const RoughAxis& axis,
                  const std::optional<Eigen::Vector3d>& up) {
  const LogFrame frame(axis, up);
  const Unwrapped near = frame.unwrap(points, 2.3);
  const LogEnds ends = find_ends(near, frame);
  const double length = ends.last.along - ends.first.along;
  RoughSurface surface(ends.first.along, ends.last.along,
                       std::max(0.25 * axis.mean_radius(), length / 200.0));
  const WoodInput input{points, near, frame, ends, surface, yard.ground};
  surface.fit(near, {}, 50.0);
  surface.fit(near, all_but_bark(part_points(input)), 0.5);
  const std::vector<Part> parts = part_points(input);
  FoundLog log;
  for (std::size_t i = 0; i < parts.size(); ++i)
    if (parts[i] == Part::bark || parts[i] == Part::face) log.wood.push_back(near.index[i]);
  note_ground(points, yard.ground, log);
  log.length = (frame.centre(ends.last.along) - frame.centre(ends.first.along)).norm();
  log.diameter = 2.0 * axis.mean_radius();
  log.girth = surface.girth();
  log.bulge = bulge(near, parts, frame, ends);
  log.faces[0] = ends.first.face;
  log.faces[1] = ends.last.face;
  surface.fit(near, all_but_bark(parts), 20.0, 0.4);  // follows corners as well
  log.roundness = surface.roundness();
  return log;
}

/// A ball is round too, but has no ends.
bool is_ball(const FoundLog& log) { return log.length < 1.5 * log.diameter && log.bulge > 0.1; }

/// As long as thick, near enough; seen over a fifth of its girth at least, and where only a little
/// of it is seen that must be clean; facing outward as bark does and a beam does not.
bool looks_like_a_log(const RoughAxis& axis, const FoundLog& log) {
  return log.length > 0.75 * log.diameter && log.girth > 0.2 && axis.share > 0.5 &&
         (log.girth > 0.35 || axis.share > 0.85) && log.roundness > 0.65 && !is_ball(log);
}

/// Other round things beside the log, as far as a person would call them so.
int count_others(const std::vector<RoughAxis>& axes, std::size_t log) {
  int others = 0;
  for (std::size_t i = 0; i < axes.size(); ++i) {
    const RoughAxis& axis = axes[i];
    const bool apart = radii_from(axes[log], axis.centre[axis.centre.size() / 2]) > 1.5;
    if (i != log && apart && axis.length() > 4.0 * axis.mean_radius() && axis.share > 0.6 &&
        axis.spread < 0.06 && merit(axis) > 0.1 * merit(axes[log]))
      ++others;
  }
  return others;
}

/// The search judges grass, rests and faces in millimetres; what lies far from any log's size is
/// brought near it.
double search_scale(const Points& points) {
  const double longest = robust_extent(points).size().maxCoeff();
  if (longest < 300.0) return 1000.0 / std::max(longest, 1e-9);
  return longest > 60000.0 ? 4000.0 / longest : 1.0;
}

SearchResult search_at_scale(const Points& points, const std::optional<Eigen::Vector3d>& up,
                             double scale) {
  const Yard yard = survey(points, up);
  const double longest_radius = 0.6 * robust_extent(points).size().maxCoeff();
  std::vector<RoughAxis> axes = find_round_things(yard, longest_radius);
  put_log_before_poles(axes);
  const std::optional<Eigen::Vector3d> upward = up            ? up
                                                : yard.ground ? std::optional(yard.ground->up())
                                                              : std::nullopt;
  for (std::size_t i = 0; i < std::min<std::size_t>(axes.size(), 3); ++i) {
    FoundLog log = part_log(points, yard, axes[i], upward);
    if (!looks_like_a_log(axes[i], log)) continue;
    log.other_logs = count_others(axes, i);
    log.length /= scale;
    log.diameter /= scale;
    return {std::move(log), {}};
  }
  return {std::nullopt, describe(yard, scale)};
}

}  // namespace

SearchResult search_log(const Points& points, const std::optional<Eigen::Vector3d>& up) {
  const double scale = search_scale(points);
  if (scale == 1.0) return search_at_scale(points, up, scale);
  Points scaled = points;
  for (Eigen::Vector3f& point : scaled) point *= static_cast<float>(scale);
  return search_at_scale(scaled, up, scale);
}

}  // namespace kerfwright
