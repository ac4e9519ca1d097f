#include "report/errors.hpp"

#include <Eigen/LU>
#include <algorithm>
#include <cmath>
#include <numbers>

namespace kerfwright {
namespace {

InventedLog without_features(InventedLog log) {
  log.burls.clear();
  log.stubs.clear();
  log.flutes = 0;
  return log;
}

Eigen::Vector2d centre_of_section(const InventedLog& log, double x) {
  Eigen::Vector2d centre = log.axis(x);
  for (const Wave& wave : log.waves) {
    if (wave.lobes != 1) continue;
    const double phase = 2.0 * std::numbers::pi * wave.cycles * x / log.length + wave.phase;
    centre += wave.amplitude * Eigen::Vector2d(std::cos(phase), -std::sin(phase));
  }
  return centre;
}

}  // namespace

void Errors::add(double error, double its_sigma) {
  count += 1.0;
  sum += error;
  squares += error * error;
  within += std::abs(error) <= 2.0 * its_sigma ? 1.0 : 0.0;
  sigma += its_sigma;
}

void Errors::add(const Errors& other) {
  count += other.count;
  sum += other.sum;
  squares += other.squares;
  within += other.within;
  sigma += other.sigma;
}

double Errors::rmse() const { return count > 0 ? std::sqrt(squares / count) : 0.0; }

double true_reach(const InventedLog& log, const Eigen::Vector3d& from, const Eigen::Vector3d& ray,
                  double guess) {
  double low = 0, high = 1e9, t = guess;
  for (int i = 0; i < 60; ++i) {  // the step that is exact for rays from the axis, kept in bounds
    const Eigen::Vector3d p = from + t * ray;
    const Eigen::Vector2d arm = p.tail<2>() - log.axis(p.x());
    const double short_of = log.radius(p.x(), std::atan2(arm.y(), arm.x())) - arm.norm();
    if (std::abs(short_of) < 1e-4) break;
    (short_of > 0 ? low : high) = t;
    t += short_of;
    if (t <= low || t >= high) t = high < 1e8 ? 0.5 * (low + high) : 1.2 * low;
  }
  return t;
}

SplitErrors compare_radii(const LogShape& shape, const InventedLog& truth,
                          const Eigen::Matrix4d& file_to_truth) {
  const InventedLog plain = without_features(truth);
  const Eigen::Matrix4d to_truth = file_to_truth * shape.scan_to_log.inverse();
  SplitErrors split;
  for (std::size_t i = 0; i < shape.stations.size(); ++i) {
    const Eigen::Vector4d centre(shape.stations[i], shape.axis[i].x(), shape.axis[i].y(), 1.0);
    const Eigen::Vector3d from = (to_truth * centre).head<3>();
    for (std::size_t j = 0; j < shape.radius[i].size(); ++j) {
      const double angle = 2.0 * std::numbers::pi * static_cast<double>(j) / shape.angles;
      const Eigen::Vector3d ray =
          to_truth.topLeftCorner<3, 3>() * Eigen::Vector3d(0, std::cos(angle), std::sin(angle));
      const double radius = static_cast<double>(shape.radius[i][j]);
      const double reach = true_reach(truth, from, ray, radius);
      Errors* errors = &split.seen;
      if (shape.seen[i][j] == 0) {
        const bool featured = std::abs(reach - true_reach(plain, from, ray, radius)) > 5.0;
        errors = featured ? &split.featured : &split.inferred;
      }
      errors->add(radius - reach, static_cast<double>(shape.sigma[i][j]));
    }
  }
  return split;
}

double true_sweep(const InventedLog& log) {
  const Eigen::Vector2d butt = centre_of_section(log, 0.0);
  const Eigen::Vector2d top = centre_of_section(log, log.length);
  double most = 0;
  for (double x = 0; x < log.length; x += 1.0) {
    const double u = x / log.length;
    most = std::max(most, (centre_of_section(log, x) - (1.0 - u) * butt - u * top).norm());
  }
  return most;
}

}  // namespace kerfwright
