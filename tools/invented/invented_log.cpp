#include "invented/invented_log.hpp"

#include <Eigen/Geometry>
#include <algorithm>
#include <cmath>
#include <numbers>

namespace kerfwright {
namespace {

constexpr double kTurn = 2.0 * std::numbers::pi;

double plain_radius(const InventedLog& log, double x) {
  return log.butt_radius + (log.top_radius - log.butt_radius) * x / log.length +
         log.flare * std::exp(-x / log.flare_reach);
}

/// Chord on a circle of `radius` between two directions: smooth and periodic, near the arc where it
/// counts.
double girth_distance(double radius, double theta, double centre) {
  return 2.0 * radius * std::sin((theta - centre) / 2.0);
}

double burl_height(const Burl& burl, double radius, double x, double theta) {
  const double along = (x - burl.x) / burl.reach_along;
  if (std::abs(along) > 9) return 0;  // below 1e-17 of the height
  const double round = girth_distance(radius, theta, burl.theta) / burl.reach_round;
  return burl.height * std::exp(-0.5 * (along * along + round * round));
}

double stub_height(const Stub& stub, double radius, double x, double theta) {
  const double along = (x - stub.x) / stub.radius;
  if (std::abs(along) > 3) return 0;  // below 1e-35 of the height
  const double round = girth_distance(radius, theta, stub.theta) / stub.radius;
  const double distance2 = along * along + round * round;
  return stub.height * std::exp(-distance2 * distance2);
}

double oval_factor(const InventedLog& log, double theta) {
  const double e = log.ovality / (2.0 - log.ovality);
  return 1.0 + e * std::cos(2.0 * (theta - log.ovality_direction));
}

double flute_factor(const InventedLog& log, double x, double theta) {
  if (log.flutes == 0) return 1.0;
  const double hollow = 0.5 * (1.0 - std::cos(log.flutes * (theta - log.flute_phase)));
  return 1.0 - log.flute_depth * std::exp(-x / log.flute_reach) * hollow * hollow;
}

double wave_height(const InventedLog& log, double x, double theta) {
  double sum = 0;
  for (const Wave& wave : log.waves)
    sum += wave.amplitude *
           std::cos(kTurn * wave.cycles * x / log.length + wave.lobes * theta + wave.phase);
  return sum;
}

Eigen::Vector2d direction(double theta) { return {std::cos(theta), std::sin(theta)}; }

}  // namespace

Eigen::Vector2d InventedLog::axis(double x) const {
  const double u = x / length;
  return sweep * 4.0 * u * (1.0 - u) * direction(sweep_direction) +
         crook * std::sin(kTurn * u) * direction(crook_direction);
}

double InventedLog::radius(double x, double theta) const {
  const double plain = plain_radius(*this, x);
  double r = plain * oval_factor(*this, theta) * flute_factor(*this, x, theta);
  for (const Burl& burl : burls) r += burl_height(burl, plain, x, theta);
  for (const Stub& stub : stubs) r += stub_height(stub, plain, x, theta);
  return r + wave_height(*this, x, theta);
}

double InventedLog::radius_under_bark(double x, double theta) const {
  const double over = radius(x, theta);
  return bark_ratio ? over * *bark_ratio : std::max(0.0, over - bark);
}

Eigen::Vector3d InventedLog::surface(double x, double theta) const {
  const Eigen::Vector2d yz = axis(x) + radius(x, theta) * direction(theta);
  return {x, yz.x(), yz.y()};
}

Eigen::Vector3d InventedLog::normal(double x, double theta, double* stretch) const {
  constexpr double kStep = 0.5;  // mm along x; as far round a log of 250 mm
  constexpr double kTurnStep = 0.004;
  const Eigen::Vector3d along =
      (surface(x + kStep, theta) - surface(x - kStep, theta)) / (2.0 * kStep);
  const Eigen::Vector3d round =
      (surface(x, theta + kTurnStep) - surface(x, theta - kTurnStep)) / (2.0 * kTurnStep);
  const Eigen::Vector3d across = round.cross(along);
  const double size = across.norm();
  if (stretch != nullptr) *stretch = size;
  return across / size;
}

double InventedLog::butt_face(const Eigen::Vector2d& yz) const { return butt_slope.dot(yz); }

double InventedLog::top_face(const Eigen::Vector2d& yz) const { return length + top_slope.dot(yz); }

double depth_in(const InventedLog& log, const Eigen::Vector3d& point, bool under_bark) {
  const Eigen::Vector2d yz = point.tail<2>();
  const double beyond = std::max(log.butt_face(yz) - point.x(), point.x() - log.top_face(yz));
  if (beyond > 0) return -beyond;
  const Eigen::Vector2d from_axis = yz - log.axis(point.x());
  const double theta = std::atan2(from_axis.y(), from_axis.x());
  const double r =
      under_bark ? log.radius_under_bark(point.x(), theta) : log.radius(point.x(), theta);
  return r - from_axis.norm();
}

double volume_m3(const InventedLog& log, bool under_bark) {
  constexpr int kAngles = 512;
  const int steps = static_cast<int>(std::ceil(log.length));
  const double dx = log.length / steps;
  double sum = 0;
  for (int i = 0; i < steps; ++i) {
    const double x = (i + 0.5) * dx;
    for (int j = 0; j < kAngles; ++j) {
      const double theta = kTurn * j / kAngles;
      const double r = under_bark ? log.radius_under_bark(x, theta) : log.radius(x, theta);
      sum += 0.5 * r * r;
    }
  }
  return sum * dx * kTurn / kAngles * 1e-9;
}

}  // namespace kerfwright
