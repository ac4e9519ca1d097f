#include "forks.hpp"

#include <Eigen/Geometry>
#include <algorithm>
#include <cmath>

#include "log_frame.hpp"

namespace kerfwright {
namespace {

bool is_clean(const RoughAxis& axis) { return axis.share > 0.75 && axis.spread < 0.055; }

/// The nearest place of an axis to a point.
struct Foot {
  std::size_t at = 0;
  double distance = 1e300;
};

Foot foot_on(const RoughAxis& axis, const Eigen::Vector3d& point) {
  Foot foot;
  for (std::size_t i = 0; i < axis.centre.size(); ++i) {
    const double distance = (axis.centre[i] - point).norm();
    if (distance < foot.distance) foot = {i, distance};
  }
  return foot;
}

/// The circles of an axis from a free end up to where it comes into the other axis: those whose
/// centres lie farther from it than its radius there. The free end comes last.
struct FreePart {
  std::vector<std::size_t> at;  ///< outward
  bool shares = false;          ///< what is left of the axis runs within the other
};

FreePart free_part(const RoughAxis& axis, const RoughAxis& other) {
  const std::size_t n = axis.centre.size();
  std::vector<unsigned char> clear(n);
  for (std::size_t i = 0; i < n; ++i) {
    const Foot foot = foot_on(other, axis.centre[i]);
    clear[i] = foot.distance > 0.9 * other.radius[foot.at] ? 1 : 0;
  }
  FreePart part;
  const auto at_front =
      static_cast<std::size_t>(std::find(clear.begin(), clear.end(), 0) - clear.begin());
  const auto at_back =
      static_cast<std::size_t>(std::find(clear.rbegin(), clear.rend(), 0) - clear.rbegin());
  if (at_front >= at_back)
    for (std::size_t i = at_front; i-- > 0;) part.at.push_back(i);
  else
    for (std::size_t i = n - at_back; i < n; ++i) part.at.push_back(i);
  part.shares = part.at.size() < n;
  return part;
}

/// Two stems stand clear of each other at last, and a stem does not change much in thickness.
bool stands_clear(const RoughAxis& axis, const FreePart& part, const RoughAxis& main) {
  const std::size_t end = part.at.back();
  const Foot foot = foot_on(main, axis.centre[end]);
  double thin = 1e300, thick = 0.0;
  for (const std::size_t i : part.at) {
    thin = std::min(thin, axis.radius[i]);
    thick = std::max(thick, axis.radius[i]);
  }
  return foot.distance > main.radius[foot.at] + 0.6 * axis.radius[end] && thick < 1.7 * thin;
}

/// A straight run through the free part's first circles, where it leaves the log.
struct Run {
  Eigen::Vector3d point, along;      ///< outward
  double radius = 0.0, taper = 0.0;  ///< mm; mm per mm
};

Run run_of(const RoughAxis& axis, const FreePart& part) {
  const std::size_t count = std::min<std::size_t>(part.at.size(), 8);
  const Eigen::Vector3d first = axis.centre[part.at.front()];
  const Eigen::Vector3d last = axis.centre[part.at[count - 1]];
  const double length = (last - first).norm();
  const double drop = axis.radius[part.at.front()] - axis.radius[part.at[count - 1]];
  return {first, (last - first) / length, axis.radius[part.at.front()],
          std::clamp(drop / length, 0.0, 0.05)};
}

/// mm from the run's point back to where it is nearest to the other axis, and how near.
struct Meeting {
  double back = 0.0, apart = 1e300;
  std::size_t at = 0;  ///< circle of the other axis
};

Meeting meet(const Run& run, const RoughAxis& other) {
  Meeting best;
  const double farthest = 6.0 * other.mean_radius();
  for (double back = 0.0; back <= farthest; back += 0.1 * other.mean_radius()) {
    const Foot foot = foot_on(other, run.point - back * run.along);
    // Between two circles the axis may pass nearer than either.
    if (foot.distance < best.apart) best = {back, foot.distance, foot.at};
  }
  return best;
}

Eigen::Vector3d direction_at(const RoughAxis& axis, std::size_t at) {
  const std::size_t before = at > 0 ? at - 1 : 0;
  const std::size_t after = std::min(at + 1, axis.centre.size() - 1);
  return (axis.centre[after] - axis.centre[before]).normalized();
}

SecondStem second_stem(const RoughAxis& main, const RoughAxis& axis, const FreePart& part,
                       const Run& run, const Meeting& meeting) {
  SecondStem stem;
  const Eigen::Vector3d start = run.point - meeting.back * run.along;
  const double step = std::max(0.3 * run.radius, 10.0);
  for (double back = meeting.back; back > 0.5 * step; back -= step) {
    stem.axis.centre.push_back(run.point - back * run.along);
    stem.axis.radius.push_back(run.radius + back * run.taper);
  }
  for (const std::size_t i : part.at) {
    stem.axis.centre.push_back(axis.centre[i]);
    stem.axis.radius.push_back(axis.radius[i]);
  }
  stem.axis.girth.assign(stem.axis.centre.size(), 0.0);
  // In the plane of both axes: where the outer and the inner edge of the second cross the bark.
  Eigen::Vector3d up = direction_at(main, meeting.at);
  if (up.dot(run.along) < 0.0) up = -up;
  const double cosine = std::clamp(up.dot(run.along), 0.05, 0.998);
  const double slope = std::sqrt(1.0 - cosine * cosine) / cosine;
  const Eigen::Vector3d side = (run.along - cosine * up).normalized();
  const double bark = main.radius[meeting.at];
  const double radius = std::min(run.radius + meeting.back * run.taper, 1.05 * bark);
  stem.begin = start + std::max(0.0, (bark - radius / cosine) / slope) * up + bark * side;
  stem.crotch = start + (bark + radius / cosine) / slope * up + bark * side;
  return stem;
}

}  // namespace

std::optional<SecondStem> find_fork(const std::vector<RoughAxis>& axes, std::size_t log) {
  const RoughAxis& main = axes[log];
  for (std::size_t i = 0; i < axes.size(); ++i) {
    if (i == log || !is_clean(axes[i])) continue;
    const FreePart part = free_part(axes[i], main);
    if (part.at.size() < 4 || !stands_clear(axes[i], part, main)) continue;
    const Run run = run_of(axes[i], part);
    const Meeting meeting = meet(run, main);
    const double bark = main.radius[meeting.at];
    const double cosine = std::abs(direction_at(main, meeting.at).dot(run.along));
    const bool thick = run.radius > 0.3 * bark && run.radius < 1.3 * bark;
    const bool inside = meeting.at > 0 && meeting.at + 1 < main.centre.size();
    // A log that leans against this one passes its axis, as a rule, or ends before its bark.
    const double gap = meeting.back - 4.0 * bark;
    if (!thick || meeting.apart > 0.6 * bark || cosine > 0.99 || (!part.shares && gap > 0.0))
      continue;
    if (!part.shares && !inside) continue;
    SecondStem stem = second_stem(main, axes[i], part, run, meeting);
    stem.stem = i;
    return stem;
  }
  return std::nullopt;
}

std::size_t main_stem(const std::vector<RoughAxis>& axes, std::size_t log) {
  const auto size_of = [](const RoughAxis& axis, const FreePart& part) {
    double sum = 0.0;
    for (std::size_t k = 1; k < part.at.size(); ++k)
      sum += std::pow(axis.radius[part.at[k]], 3) *
             (axis.centre[part.at[k]] - axis.centre[part.at[k - 1]]).norm();
    return sum;
  };
  for (std::size_t i = 0; i < axes.size(); ++i) {
    if (i == log || !is_clean(axes[i])) continue;
    const FreePart there = free_part(axes[i], axes[log]);
    const FreePart here = free_part(axes[log], axes[i]);
    if (!there.shares || !here.shares || there.at.size() < 4 || here.at.size() < 4) continue;
    if (size_of(axes[i], there) > size_of(axes[log], here)) return i;
  }
  return log;
}

RoughAxis without_stem(const Points& objects, const RoughAxis& main, const SecondStem& second,
                       double leaf) {
  Points kept;
  for (const Eigen::Vector3f& point : objects) {
    const Eigen::Vector3d p = point.cast<double>();
    const Foot own = foot_on(main, p), other = foot_on(second.axis, p);
    const bool of_second = other.distance < 1.25 * second.axis.radius[other.at] &&
                           own.distance > 1.06 * main.radius[own.at];
    if (!of_second) kept.push_back(point);
  }
  // Start where the second is farthest away.
  std::size_t start = 0;
  double farthest = 0.0;
  for (std::size_t i = 2; i + 2 < main.centre.size(); ++i) {
    const double distance = foot_on(second.axis, main.centre[i]).distance;
    if (distance <= farthest || main.girth[i] <= 0.0) continue;
    farthest = distance;
    start = i;
  }
  const Cylinder from{main.centre[start], direction_at(main, start), main.radius[start], 1.0};
  RoughAxis again = follow_axis(kept, from, leaf);
  return again.centre.size() >= 4 && again.length() > 0.8 * main.length() ? again : main;
}

}  // namespace kerfwright
