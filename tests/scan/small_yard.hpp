#pragma once

#include <Eigen/Core>
#include <cmath>
#include <cstdint>
#include <functional>
#include <numbers>
#include <random>
#include <vector>

#include "kerfwright/scan/scan.hpp"

namespace kerfwright {

/// A yard of points whose origin is known: the log's first, then what lies about it. Metres, z up.
struct SmallYard {
  std::vector<Eigen::Vector3d> points;
  std::size_t wood = 0;  ///< the first so many are the log's
};

/// Draws with a fixed seed, the same with every standard library.
class Draws {
 public:
  double uniform(double low = 0.0, double high = 1.0) {
    return low + (high - low) * static_cast<double>(engine_() >> 11) * 0x1.0p-53;
  }
  double normal(double sigma) {
    return sigma * std::sqrt(-2.0 * std::log(1.0 - uniform())) *
           std::cos(2.0 * std::numbers::pi * uniform());
  }
  Eigen::Vector3d noise(double sigma) { return {normal(sigma), normal(sigma), normal(sigma)}; }

 private:
  std::mt19937_64 engine_{42};
};

struct RoundLog {
  double length = 2.4, radius = 0.16;
  double sag = 0.0;  ///< m, at the middle
  bool faces = true;
  double lowest_seen = -2.0;                        ///< radii; nothing is seen below it
  std::function<double(double, double)> bump = {};  ///< m added to the radius at (x, angle from up)
  double noise = 0.004;                             ///< m
};

/// A point of a log that lies along x with its lowest line at z = 0.
inline Eigen::Vector3d log_point(Draws& draws, const RoundLog& log) {
  const double side = log.length, faces = log.faces ? log.radius : 0.0;  // areas over 2 pi r
  Eigen::Vector3d p;
  do {
    const double turn = draws.uniform(0.0, 2.0 * std::numbers::pi);
    const bool on_side = draws.uniform(0.0, side + faces) < side;
    const double x =
        on_side ? draws.uniform(0.0, log.length) : (draws.uniform() < 0.5 ? 0.0 : log.length);
    double r = log.radius + (log.bump ? log.bump(x, turn) : 0.0);
    if (!on_side) r *= std::sqrt(draws.uniform());
    const double t = x / log.length;
    p = {x, r * std::sin(turn), r * std::cos(turn) + 4.0 * log.sag * t * (1.0 - t)};
  } while (p.z() < log.lowest_seen * log.radius);
  return p + draws.noise(log.noise) + Eigen::Vector3d(0, 0, log.radius);
}

inline void add(SmallYard& yard, int count, const std::function<Eigen::Vector3d()>& draw) {
  for (int i = 0; i < count; ++i) yard.points.push_back(draw());
}

inline void add_log(SmallYard& yard, Draws& draws, int count, const RoundLog& log,
                    double height = 0.0) {
  add(yard, count, [&] { return (log_point(draws, log) + Eigen::Vector3d(0, 0, height)).eval(); });
  yard.wood = yard.points.size();
}

/// Grass that rises and falls by a few centimetres.
inline void add_ground(SmallYard& yard, Draws& draws, int count) {
  add(yard, count, [&] {
    const double x = draws.uniform(-0.8, 3.2), y = draws.uniform(-1.4, 1.4);
    return Eigen::Vector3d(x, y,
                           0.03 * std::sin(2.0 * x + y) - 0.03 + std::abs(draws.normal(0.008)));
  });
}

/// A square timber across under the log, its top at `top`; only its top and its sides are seen.
inline void add_bunk(SmallYard& yard, Draws& draws, int count, double x, double top) {
  add(yard, count, [&, x, top] {
    const double y = draws.uniform(-0.4, 0.4);
    if (draws.uniform() < 0.4) return Eigen::Vector3d(x + draws.uniform(-0.05, 0.05), y, top);
    const double height = draws.uniform(0.0, top);
    return Eigen::Vector3d(x + (draws.uniform() < 0.5 ? -0.05 : 0.05), y, height);
  });
}

/// The yard as a scan in millimetres.
inline Scan to_scan(const SmallYard& yard, double mm_per_unit = 1000.0) {
  Scan scan;
  scan.source = {"yard.ply", std::string(64, '0'), yard.points.size()};
  scan.file_to_scan.topLeftCorner<3, 3>() *= mm_per_unit;
  for (const Eigen::Vector3d& p : yard.points)
    scan.points.push_back((p * mm_per_unit).cast<float>());
  return scan;
}

}  // namespace kerfwright
