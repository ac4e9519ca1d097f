#include "oval.hpp"

#include <Eigen/Eigenvalues>
#include <Eigen/Geometry>
#include <Eigen/LU>
#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>
#include <random>

#include "quantile.hpp"
#include "rounding.hpp"

namespace kerfwright {
namespace {

constexpr std::size_t most_runs = 4;      ///< axes that are looked at
constexpr double an_arc = 0.2;            ///< of a circle, as of ground or grass
constexpr std::size_t most_points = 250;  ///< of a section
constexpr std::size_t least_points = 40;
constexpr int circles = 40;  ///< tried on a section
constexpr int sectors = 24;
constexpr int stretch_turns = 12;
constexpr std::array<double, 6> ratios{1.3, 1.5, 1.75, 2.0, 2.3, 2.7};
/// By how much an oval must do better than a circle.
constexpr double much_better = 1.15;

using Flat = std::vector<Eigen::Vector2d>;

/// A run of a thing that may be oval: a straight line through it.
struct Run {
  Eigen::Vector3d middle, along;
  double reach = 0.0;  ///< mm to either side of the middle
};

Eigen::Vector3d mean_of(const Points& points) {
  Eigen::Vector3d sum = Eigen::Vector3d::Zero();
  for (const Eigen::Vector3f& p : points) sum += p.cast<double>();
  return sum / static_cast<double>(points.size());
}

Points some_of(const Points& points, std::size_t most) {
  Points some;
  for (const std::uint32_t i : even_pick(points.size(), most)) some.push_back(points[i]);
  return some;
}

/// Bark faces across a log's run, so that few normals of the largest thing point along it; of a
/// short one those of its faces may be as many, and the second best is a run as well.
void add_runs_by_normals(const Yard& yard, std::vector<Run>& runs) {
  if (yard.groups.empty()) return;
  Points group;
  for (const std::uint32_t i : yard.groups[0]) group.push_back(yard.objects[i]);
  const std::vector<std::uint32_t> picked = even_pick(group.size(), 2000);
  if (picked.size() < least_points) return;
  Eigen::Matrix3d energy = Eigen::Matrix3d::Zero();
  for (const Eigen::Vector3d& n : estimate_normals(group, picked, 14)) energy += n * n.transpose();
  const Eigen::Matrix3d axes =
      Eigen::SelfAdjointEigenSolver<Eigen::Matrix3d>(energy).eigenvectors();
  const Eigen::Vector3d middle = mean_of(group);
  for (Eigen::Index i = 0; i < 2; ++i) {
    std::vector<double> places;
    for (const Eigen::Vector3f& p : group)
      places.push_back(std::abs(axes.col(i).dot(p.cast<double>() - middle)));
    runs.push_back({middle, axes.col(i), take_quantile(places, 0.9)});
  }
}

std::vector<Run> runs_of(const Yard& yard, const std::vector<RoughAxis>& axes) {
  std::vector<Run> runs;
  for (const RoughAxis& axis : axes) {
    if (runs.size() == most_runs) break;
    if (axis.mean_girth() < an_arc) continue;
    runs.push_back({axis.centre[axis.centre.size() / 2],
                    (axis.centre.back() - axis.centre.front()).normalized(),
                    0.5 * (axis.centre.back() - axis.centre.front()).norm()});
  }
  add_runs_by_normals(yard, runs);
  return runs;
}

/// Three sections of a run, spread over it.
std::vector<Flat> sections_of(const Yard& yard, const Run& run, const Eigen::Vector3d& first,
                              const Eigen::Vector3d& second) {
  std::vector<Flat> sections(3);
  const double half = std::max(2.0 * yard.leaf, 0.08 * run.reach);
  for (const Eigen::Vector3f& point : yard.objects) {
    const Eigen::Vector3d d = point.cast<double>() - run.middle;
    const double place = run.along.dot(d) / run.reach;
    for (std::size_t s = 0; s < sections.size(); ++s)
      if (std::abs(place - 0.5 * (static_cast<double>(s) - 1.0)) * run.reach < half)
        sections[s].emplace_back(first.dot(d), second.dot(d));
  }
  for (Flat& section : sections) {
    if (section.size() < least_points) section.clear();
    const std::size_t step = section.size() / most_points + 1;
    for (std::size_t i = 0; i * step < section.size(); ++i) section[i] = section[i * step];
    section.resize((section.size() + step - 1) / step);
  }
  return sections;
}

struct Circle {
  Eigen::Vector2d centre;
  double radius = 0.0, score = 0.0;
};

bool through(const Eigen::Vector2d& a, const Eigen::Vector2d& b, const Eigen::Vector2d& c,
             Circle& circle) {
  const Eigen::Vector2d p = b - a, q = c - a;
  const double twice = 2.0 * (p.x() * q.y() - p.y() * q.x());
  if (std::abs(twice) < 1e-6) return false;
  circle.centre = Eigen::Vector2d(q.y() * p.squaredNorm() - p.y() * q.squaredNorm(),
                                  p.x() * q.squaredNorm() - q.x() * p.squaredNorm()) /
                  twice;
  circle.radius = circle.centre.norm();
  circle.centre += a;
  return true;
}

/// Points on the circle, where they are spread over it; points inside speak against it.
double score_of(const Flat& section, const Circle& circle) {
  std::array<int, sectors> hits{};
  int on = 0, inside = 0;
  for (const Eigen::Vector2d& point : section) {
    const Eigen::Vector2d d = point - circle.centre;
    const double off = d.norm() / circle.radius - 1.0;
    if (off < -0.2) ++inside;
    if (std::abs(off) > 0.06) continue;
    ++on;
    const double turn = (std::atan2(d.y(), d.x()) + std::numbers::pi) / (2.0 * std::numbers::pi);
    ++hits[static_cast<std::size_t>(std::min(sectors - 1, static_cast<int>(turn * sectors)))];
  }
  const auto seen =
      static_cast<double>(std::count_if(hits.begin(), hits.end(), [](int hit) { return hit > 0; }));
  return std::max(0.0, on - 0.5 * inside) * std::min(1.0, 1.5 * seen / sectors);
}

/// The best circle through three points of the section, of some drawn at random.
Circle best_circle(const Flat& section, double most_radius) {
  Circle best;
  best.centre.setZero();
  std::mt19937_64 engine(1);
  const auto draw = [&]() -> const Eigen::Vector2d& { return section[engine() % section.size()]; };
  for (int trial = 0; trial < circles; ++trial) {
    const Eigen::Vector2d &a = draw(), &b = draw(), &c = draw();
    Circle circle;
    if (!through(a, b, c, circle) || circle.radius > most_radius) continue;
    circle.score = score_of(section, circle);
    if (circle.score > best.score) best = circle;
  }
  return best;
}

/// The middle section's circle, and what all of them score.
Circle score_stretched(const std::vector<Flat>& sections, const Eigen::Matrix2d& rounding,
                       double most_radius) {
  Circle sum;
  sum.centre.setZero();
  double best = -1.0;
  for (const Flat& section : sections) {
    if (section.empty()) continue;
    Flat round;
    for (const Eigen::Vector2d& p : section) round.push_back(rounding * p);
    const Circle circle = best_circle(round, most_radius);
    sum.score += circle.score;
    if (circle.score <= best) continue;
    best = circle.score;
    sum.centre = circle.centre;
    sum.radius = circle.radius;
  }
  return sum;
}

/// The best oval of a run; its score is over that of circles.
Oval oval_of(const Yard& yard, const Run& run, double most_radius) {
  const Eigen::Vector3d first = run.along.unitOrthogonal();
  const Eigen::Vector3d second = run.along.cross(first);
  const std::vector<Flat> sections = sections_of(yard, run, first, second);
  const double round = score_stretched(sections, Eigen::Matrix2d::Identity(), most_radius).score;
  Oval best;
  best.along = run.along;
  double most = much_better * round;
  for (int turn = 0; turn < stretch_turns; ++turn)
    for (const double ratio : ratios) {
      const double angle = turn * std::numbers::pi / stretch_turns;
      const Eigen::Matrix2d rounding = rounding_of(angle, ratio);
      const Circle circle = score_stretched(sections, rounding, most_radius);
      if (circle.score <= most) continue;
      most = circle.score;
      const Eigen::Vector2d centre = rounding.inverse() * circle.centre;
      best.middle = run.middle + centre.x() * first + centre.y() * second;
      best.flat = std::cos(angle) * first + std::sin(angle) * second;
      best.ratio = ratio;
      best.score = circle.score;
    }
  return best;
}

}  // namespace

Eigen::Matrix3d Oval::rounding() const {
  const double root = std::sqrt(ratio);
  const Eigen::Vector3d wide = along.cross(flat);
  return Eigen::Matrix3d::Identity() + (root - 1.0) * flat * flat.transpose() +
         (1.0 / root - 1.0) * wide * wide.transpose();
}

std::vector<Oval> find_ovals(const Yard& yard, const std::vector<RoughAxis>& axes) {
  const double most_radius = 0.6 * robust_extent(yard.objects).size().maxCoeff();
  std::vector<Oval> ovals;
  for (const Run& run : runs_of(yard, axes)) {
    if (!(run.reach > 0.0)) continue;
    const Oval oval = oval_of(yard, run, most_radius);
    if (oval.ratio > 1.0) ovals.push_back(oval);
  }
  std::stable_sort(ovals.begin(), ovals.end(),
                   [](const Oval& a, const Oval& b) { return a.score > b.score; });
  return ovals;
}

bool is_square(const Points& thing, const Eigen::Vector3d& along) {
  constexpr int turns = 30;
  constexpr double quarter = 0.5 * std::numbers::pi, near = 0.21;  // rad
  constexpr double most_of_bark = 0.72;
  const Points surface = some_of(thing, 10000);
  if (surface.size() < least_points) return false;
  const Eigen::Vector3d first = along.unitOrthogonal();
  const Eigen::Vector3d second = along.cross(first);
  std::vector<double> angles;
  for (const Eigen::Vector3d& n : estimate_normals(surface, even_pick(surface.size(), 2000), 14))
    if (std::abs(n.dot(along)) < 0.5) angles.push_back(std::atan2(second.dot(n), first.dot(n)));
  std::ptrdiff_t most = 0;
  for (int turn = 0; turn < turns; ++turn)
    most =
        std::max(most, std::count_if(angles.begin(), angles.end(), [&](double angle) {
                   return std::abs(std::remainder(angle - turn * quarter / turns, quarter)) < near;
                 }));
  return static_cast<double>(most) > most_of_bark * static_cast<double>(angles.size());
}

}  // namespace kerfwright
