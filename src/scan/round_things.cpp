#include "round_things.hpp"

#include <algorithm>
#include <cmath>

namespace kerfwright {
namespace {

constexpr std::size_t most_groups = 6;
constexpr std::size_t most_followed = 6;
constexpr double an_arc = 0.3;  // of a circle; logs that were walked around show more than half
constexpr double enough_girth = 0.4;  // of a circle, for as much merit as all of it

/// A piece of what was followed already. What is loosely round, or a mere arc as of the ground, and
/// much wider covers nothing: it may run through a log.
bool is_covered(const std::vector<RoughAxis>& axes, const Cylinder& cylinder) {
  return std::any_of(axes.begin(), axes.end(), [&](const RoughAxis& axis) {
    const bool clean = is_clean(axis) && axis.mean_girth() > an_arc;
    return (clean || axis.mean_radius() < 2.0 * cylinder.radius) &&
           radii_from(axis, cylinder.point) < 1.3;
  });
}

/// A small piece may grow to a loosely round thing that was followed already. (Within a clean one
/// it may be the second stem of a fork.)
bool is_loose_again(const std::vector<RoughAxis>& axes, const RoughAxis& grown) {
  return std::any_of(axes.begin(), axes.end(), [&](const RoughAxis& axis) {
    return !is_clean(axis) && axis.mean_radius() < 2.0 * grown.mean_radius() &&
           radii_from(axis, grown.centre[grown.centre.size() / 2]) < 1.3;
  });
}

bool is_long_enough(const RoughAxis& axis) {
  return axis.centre.size() >= 4 && axis.length() > 0.9 * axis.mean_radius();
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

}  // namespace

bool is_clean(const RoughAxis& axis) { return axis.share > 0.75 && axis.spread < 0.055; }

double merit(const RoughAxis& axis) {
  const double girth = std::min(1.0, axis.mean_girth() / enough_girth);
  return axis.points * axis.share * axis.share * std::max(0.0, 0.072 - axis.spread) * girth * girth;
}

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
      if (is_long_enough(axis) && !is_loose_again(axes, axis)) axes.push_back(std::move(axis));
    }
  }
  std::stable_sort(axes.begin(), axes.end(),
                   [](const RoughAxis& a, const RoughAxis& b) { return merit(a) > merit(b); });
  return axes;
}

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

std::vector<std::size_t> other_round_things(const std::vector<RoughAxis>& axes, std::size_t log) {
  std::vector<std::size_t> others;
  for (std::size_t i = 0; i < axes.size(); ++i) {
    const RoughAxis& axis = axes[i];
    const bool apart = radii_from(axes[log], axis.centre[axis.centre.size() / 2]) > 1.5;
    if (i != log && apart && axis.length() > 4.0 * axis.mean_radius() && axis.share > 0.6 &&
        axis.spread < 0.06 && merit(axis) > 0.1 * merit(axes[log]))
      others.push_back(i);
  }
  return others;
}

}  // namespace kerfwright
