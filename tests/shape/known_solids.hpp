#pragma once

#include <Eigen/Core>
#include <cmath>
#include <functional>
#include <numbers>
#include <random>

#include "kerfwright/scan/scan.hpp"
#include "kerfwright/shape/log_shape.hpp"

namespace kerfwright::solids {

/// A solid that is known by formula: centre (y, z) at x, and radius at (x, angle), mm.
struct Solid {
  double length = 3000;
  std::function<Eigen::Vector2d(double)> axis = [](double) { return Eigen::Vector2d(0, 0); };
  std::function<double(double, double)> radius = [](double, double) { return 150.0; };
};

inline Eigen::Vector2d direction(double angle) { return {std::cos(angle), std::sin(angle)}; }

/// The solid as a shape without any fitting: samples of the formulas.
inline LogShape sampled(const Solid& solid, double step, int angles = 128) {
  LogShape shape;
  shape.angles = angles;
  for (double x = 0; x < solid.length - 1e-9; x += step) shape.stations.push_back(x);
  shape.stations.push_back(solid.length);
  for (const double x : shape.stations) {
    shape.axis.push_back(solid.axis(x));
    auto& radii = shape.radius.emplace_back();
    for (int j = 0; j < angles; ++j) {
      radii.push_back(static_cast<float>(solid.radius(x, 2.0 * std::numbers::pi * j / angles)));
    }
    shape.sigma.emplace_back(static_cast<std::size_t>(angles), 1.0F);
    shape.seen.emplace_back(static_cast<std::size_t>(angles), static_cast<unsigned char>(1));
  }
  return shape;
}

/// Points of the solid's bark and ends, evenly by area, with normal noise; the share `hidden` of
/// the girth, lowest of it, is left out. The scan's own axes are those of the solid.
inline Scan scanned(const Solid& solid, int points, double noise, double hidden,
                    unsigned seed = 7) {
  std::mt19937 engine(seed);
  const auto draw = [&] { return (static_cast<double>(engine()) + 0.5) / 4294967296.0; };
  const auto normal = [&] {  // Box and Muller 1958: the same with every standard library
    return std::sqrt(-2.0 * std::log(draw())) * std::cos(2.0 * std::numbers::pi * draw());
  };
  Scan scan;
  scan.up = Eigen::Vector3d::UnitZ();
  const double mean = solid.radius(0.5 * solid.length, 0.0);
  const double face_share = mean / (mean + solid.length);
  while (static_cast<int>(scan.points.size()) < points) {
    const double angle = 2.0 * std::numbers::pi * draw();
    const bool face = draw() < face_share;
    const double x = face ? (draw() < 0.5 ? 0.0 : solid.length) : solid.length * draw();
    const double below =
        std::abs(std::remainder(angle + 0.5 * std::numbers::pi, 2.0 * std::numbers::pi));
    if (!face && below < std::numbers::pi * hidden) continue;
    const double rho = solid.radius(x, angle) * (face ? std::sqrt(draw()) : 1.0);
    const Eigen::Vector2d yz = solid.axis(x) + rho * direction(angle);
    const Eigen::Vector3d shift(noise * normal(), noise * normal(), noise * normal());
    scan.points.push_back((Eigen::Vector3d(x, yz.x(), yz.y()) + shift).cast<float>());
  }
  scan.source.points = scan.points.size();
  return scan;
}

}  // namespace kerfwright::solids
