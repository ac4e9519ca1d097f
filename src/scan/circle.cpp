#include "circle.hpp"

#include <Eigen/Cholesky>
#include <array>
#include <cmath>
#include <numbers>

namespace kerfwright {
namespace {

constexpr int sectors = 36;
/// Points within these shares of the radius of the circle count at all, from the first round to the
/// last.
constexpr std::array<double, 7> bands{0.30, 0.25, 0.20, 0.16, 0.14, 0.12, 0.12};
/// The start weighs as much as this many full sectors.
constexpr double hold = 0.5;

std::size_t sector_of(const Eigen::Vector2d& d) {
  const double turn = (std::atan2(d.y(), d.x()) + std::numbers::pi) / (2.0 * std::numbers::pi);
  return static_cast<std::size_t>(std::min(sectors - 1, static_cast<int>(turn * sectors)));
}

double biweight(double residual, double band) {
  const double t = residual / band;
  return std::abs(t) < 1.0 ? (1.0 - t * t) * (1.0 - t * t) : 0.0;
}

/// One Gauss-Newton round. Each sector's weight is its points' weights scaled to at most one.
void improve(const std::vector<Eigen::Vector2d>& points, const SectionCircle& start, double band,
             SectionCircle& circle) {
  std::array<Eigen::Matrix3d, sectors> normal;
  std::array<Eigen::Vector3d, sectors> right;
  std::array<double, sectors> weight{};
  normal.fill(Eigen::Matrix3d::Zero());
  right.fill(Eigen::Vector3d::Zero());
  for (const Eigen::Vector2d& point : points) {
    const Eigen::Vector2d d = point - circle.centre;
    const double distance = d.norm();
    const double w = biweight(distance - circle.radius, band * circle.radius);
    if (!(w > 0.0)) continue;
    const Eigen::Vector3d slope(d.x() / distance, d.y() / distance, 1.0);
    const std::size_t s = sector_of(d);
    normal[s] += w * slope * slope.transpose();
    right[s] += w * slope * (distance - circle.radius);
    weight[s] += w;
  }
  Eigen::Matrix3d sum = hold * Eigen::Matrix3d::Identity();
  Eigen::Vector3d b(start.centre.x() - circle.centre.x(), start.centre.y() - circle.centre.y(),
                    start.radius - circle.radius);
  b *= hold;
  for (std::size_t s = 0; s < sectors; ++s) {
    const double scale = weight[s] > 1.0 ? 1.0 / weight[s] : 1.0;
    sum += scale * normal[s];
    b += scale * right[s];
  }
  const Eigen::Vector3d step = sum.ldlt().solve(b);
  circle.centre += step.head<2>();
  circle.radius = std::max(0.3 * start.radius, circle.radius + step.z());
}

CircleSupport judge_circle(const std::vector<Eigen::Vector2d>& points,
                           const SectionCircle& circle) {
  CircleSupport support;
  support.circle = circle;
  std::array<int, sectors> hits{};
  double squares = 0.0;
  int on = 0, about = 0;
  for (const Eigen::Vector2d& point : points) {
    const Eigen::Vector2d d = point - circle.centre;
    const double off = d.norm() / circle.radius - 1.0;
    if (off > 0.4) continue;
    ++about;
    if (std::abs(off) > bands.back()) continue;
    ++on;
    squares += off * off;
    ++hits[sector_of(d)];
  }
  if (on == 0) return support;
  int seen = 0;
  for (const int hit : hits) seen += hit > 0 ? 1 : 0;
  support.girth = static_cast<double>(seen) / sectors;
  support.share = static_cast<double>(on) / about;
  support.points = on;
  support.spread = std::sqrt(squares / on);
  return support;
}

}  // namespace

CircleSupport fit_circle_near(const std::vector<Eigen::Vector2d>& points,
                              const SectionCircle& start) {
  SectionCircle circle = start;
  for (const double band : bands) improve(points, start, band, circle);
  return judge_circle(points, circle);
}

}  // namespace kerfwright
