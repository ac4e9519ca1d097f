#include "rough_axis.hpp"

#include <Eigen/Cholesky>
#include <Eigen/Geometry>
#include <algorithm>
#include <cmath>
#include <numeric>

#include "circle.hpp"
#include "quantile.hpp"

namespace kerfwright {
namespace {

/// A cross-section being looked at: where, square to what, how large.
struct Section {
  Eigen::Vector3d centre, along;
  double radius = 0.0;
};

struct Followed {
  Section section;
  CircleSupport support;
  bool seen = false;
};

CircleSupport look(const Points& points, const Section& section, double half, Section& found) {
  const Eigen::Vector3d e1 = section.along.unitOrthogonal();
  const Eigen::Vector3d e2 = section.along.cross(e1);
  std::vector<Eigen::Vector2d> flat;
  const double far = 1.7 * section.radius;
  for (const Eigen::Vector3f& point : points) {
    const Eigen::Vector3d d = point.cast<double>() - section.centre;
    if (std::abs(section.along.dot(d)) > half) continue;
    const Eigen::Vector2d place(e1.dot(d), e2.dot(d));
    if (place.squaredNorm() < far * far) flat.push_back(place);
  }
  const CircleSupport support = fit_circle_near(flat, {Eigen::Vector2d::Zero(), section.radius});
  found = section;
  found.centre += support.circle.centre.x() * e1 + support.circle.centre.y() * e2;
  found.radius = support.circle.radius;
  return support;
}

bool is_carried(const CircleSupport& support, const Section& from, const Section& to) {
  return support.girth > 0.19 && support.share > 0.4 &&
         std::abs(to.radius - from.radius) < 0.3 * from.radius &&
         (to.centre - from.centre).norm() < 0.4 * from.radius;
}

/// The direction in which the last circles ran, half believed.
Eigen::Vector3d next_direction(const std::vector<Followed>& path, const Eigen::Vector3d& along) {
  std::vector<Eigen::Vector3d> seen;
  for (auto it = path.rbegin(); it != path.rend() && seen.size() < 5; ++it)
    if (it->seen) seen.push_back(it->section.centre);
  if (seen.size() < 3) return along;
  const Eigen::Vector3d run = (seen.front() - seen.back()).normalized();
  return run.dot(along) > 0.85 ? (run + along).normalized() : along;
}

double step_of(double radius, double leaf) { return std::max(0.4 * radius, 2.0 * leaf); }

/// Round the edge of a disc a path would never end.
bool runs_in_a_ring(const std::vector<Followed>& path) {
  const Section& last = path.back().section;
  for (std::size_t i = 0; i + 12 < path.size(); ++i)
    if ((path[i].section.centre - last.centre).norm() < last.radius) return true;
  return path.size() > 1000;
}

/// From the end of `path` onwards until the thing ends: nothing carried for more than a radius and
/// a half.
void follow(const Points& points, double step, std::vector<Followed>& path) {
  double missed = 0.0;
  while (missed < std::max(1.6 * path.back().section.radius, 3.0 * step) && !runs_in_a_ring(path)) {
    Section next = path.back().section;
    next.along = next_direction(path, next.along);
    next.centre += step * next.along;
    Followed step_to;
    const CircleSupport support = look(points, next, 0.5 * step, step_to.section);
    step_to.seen = is_carried(support, next, step_to.section);
    step_to.support = support;
    if (!step_to.seen) step_to.section = next;
    missed = step_to.seen ? 0.0 : missed + step;
    path.push_back(step_to);
  }
  while (path.size() > 1 && !path.back().seen) path.pop_back();
}

/// Value of a straight or bent line fitted to the neighbours, weighted by nearness.
template <typename Value, typename Get>
Value local_fit(const std::vector<Followed>& path, std::size_t at, int reach, const Get& get) {
  Eigen::Matrix3d normal = 1e-9 * Eigen::Matrix3d::Identity();
  std::vector<std::pair<Eigen::Vector3d, Value>> rows;
  const auto middle = static_cast<int>(at);
  const int first = std::max(0, middle - reach);
  const int last = std::min(static_cast<int>(path.size()) - 1, middle + reach);
  for (int i = first; i <= last; ++i) {
    if (!path[static_cast<std::size_t>(i)].seen) continue;
    const double t = static_cast<double>(i - middle) / (reach + 1);
    const double weight = std::pow(1.0 - std::pow(std::abs(t), 3), 3);
    const Eigen::Vector3d row(1.0, t, t * t);
    normal += weight * row * row.transpose();
    rows.emplace_back(weight * row, get(path[static_cast<std::size_t>(i)]));
  }
  if (rows.empty()) return get(path[at]);
  normal(2, 2) += 0.02;  // leans to the straight line where few are seen
  const Eigen::Vector3d pick = normal.ldlt().solve(Eigen::Vector3d::UnitX());
  Value value = rows.front().second * 0.0;
  for (const auto& [row, v] : rows) value += pick.dot(row) * v;
  return value;
}

std::vector<Section> smoothed(const std::vector<Followed>& path) {
  std::vector<Section> sections(path.size());
  for (std::size_t i = 0; i < path.size(); ++i) {
    sections[i].centre = local_fit<Eigen::Vector3d>(
        path, i, 6, [](const Followed& f) -> Eigen::Vector3d { return f.section.centre; });
    sections[i].radius =
        local_fit<double>(path, i, 4, [](const Followed& f) { return f.section.radius; });
  }
  for (std::size_t i = 0; i < path.size(); ++i) {
    const std::size_t before = i > 0 ? i - 1 : 0;
    const std::size_t after = std::min(i + 1, path.size() - 1);
    sections[i].along = before == after
                            ? path[i].section.along
                            : (sections[after].centre - sections[before].centre).normalized();
  }
  return sections;
}

/// Looks again, square to the smoothed axis, and smooths once more.
void look_again(const Points& points, double step, std::vector<Followed>& path) {
  const std::vector<Section> sections = smoothed(path);
  for (std::size_t i = 0; i < path.size(); ++i) {
    Section found;
    const CircleSupport support = look(points, sections[i], 0.5 * step, found);
    path[i].seen = is_carried(support, sections[i], found);
    path[i].support = support;
    path[i].section = path[i].seen ? found : sections[i];
  }
}

RoughAxis to_axis(const std::vector<Followed>& path) {
  RoughAxis axis;
  int seen = 0;
  std::vector<double> shares;
  for (const Followed& step : path) seen += step.seen ? 1 : 0;
  if (seen == 0) return axis;
  const std::vector<Section> sections = smoothed(path);
  for (std::size_t i = 0; i < path.size(); ++i) {
    axis.centre.push_back(sections[i].centre);
    axis.radius.push_back(std::max(sections[i].radius, 1e-6));
    axis.girth.push_back(path[i].seen ? path[i].support.girth : 0.0);
    if (!path[i].seen) continue;
    shares.push_back(path[i].support.share);
    axis.points += path[i].support.points;
    axis.spread += path[i].support.spread / seen;
  }
  // The median: a section through an end face has most of its points inside.
  axis.share = take_quantile(shares);
  return axis;
}

}  // namespace

double RoughAxis::length() const {
  double sum = 0.0;
  for (std::size_t i = 1; i < centre.size(); ++i) sum += (centre[i] - centre[i - 1]).norm();
  return sum;
}

double RoughAxis::mean_radius() const {
  return std::accumulate(radius.begin(), radius.end(), 0.0) / static_cast<double>(radius.size());
}

double RoughAxis::mean_girth() const {
  if (girth.empty()) return 0.0;
  return std::accumulate(girth.begin(), girth.end(), 0.0) / static_cast<double>(girth.size());
}

RoughAxis follow_axis(const Points& points, const Cylinder& start, double leaf) {
  const double step = step_of(start.radius, leaf);
  Followed first;
  first.section = {start.point, start.axis, start.radius};
  for (int round = 0; round < 2; ++round) {
    const Section from = first.section;
    first.support = look(points, from, step, first.section);
    first.seen = is_carried(first.support, from, first.section);
    if (!first.seen) return {};
  }
  std::vector<Followed> forward{first};
  follow(points, step, forward);
  // The other way starts with the direction that the first way found.
  std::vector<Followed> path(forward.rbegin(), forward.rend());
  for (Followed& passed : path) passed.section.along = -passed.section.along;
  follow(points, step, path);
  look_again(points, step, path);
  // Now that the axis is smooth its ends may lead on.
  for (int end = 0; end < 2; ++end) {
    follow(points, step, path);
    std::reverse(path.begin(), path.end());
    for (Followed& passed : path) passed.section.along = -passed.section.along;
  }
  look_again(points, step, path);
  return to_axis(path);
}

double radii_from(const RoughAxis& axis, const Eigen::Vector3d& point) {
  std::size_t nearest = 0;
  double least = 1e300;
  for (std::size_t i = 0; i < axis.centre.size(); ++i) {
    const double distance = (axis.centre[i] - point).squaredNorm();
    if (distance >= least) continue;
    least = distance;
    nearest = i;
  }
  return std::sqrt(least) / axis.radius[nearest];
}

}  // namespace kerfwright
