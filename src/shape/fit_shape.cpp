#include "kerfwright/shape/fit_shape.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "cells.hpp"
#include "centre.hpp"
#include "kerfwright/error.hpp"
#include "notes.hpp"
#include "placement.hpp"
#include "rim.hpp"
#include "seen.hpp"
#include "surface_fit.hpp"

namespace kerfwright {
namespace {

double mean_radius(const Placement& placement) {
  double sum = 0;
  for (int i = 0; i <= 20; ++i) sum += placement.spine(placement.length * i / 20.0)[2] / 21.0;
  return sum;
}

/// Coarse, for the axis alone.
SurfaceScale axis_scale() {
  return {.form_harmonics = 6, .detail_step = 70.0, .detail_harmonics = 10, .rounds = 2};
}

/// Measures radii from a stiff axis and moves the axis to the centres that the stem then shows,
/// until it rests. Measured from the axis itself, a burl that once drew it aside would be taken for
/// a part of the stem.
PolarCloud settle_on_surface(const Scan& log, Placement& placement, double radius) {
  constexpr int most_moves = 4;
  constexpr double at_rest = 4.0;  // mm
  for (int move = 0; move < most_moves; ++move) {
    const Spine before = placement.spine;
    placement.spine = stiffened(before);
    const PolarCloud cloud = to_polar(log.points, placement);
    recentre(placement,
             fit_surface(cloud, rim_points(log.points, placement), radius, axis_scale()));
    if (farthest_apart(before, placement.spine) < at_rest) break;
    settle(placement);
  }
  settle(placement);
  return to_polar(log.points, placement);
}

/// As fine as a burl needs, coarser where the log is long, so that time stays in bounds.
SurfaceScale fine_scale(double length, double radius) {
  SurfaceScale scale;
  scale.form_step = std::clamp(length / 30.0, 120.0, 250.0);
  scale.detail_step = std::clamp(length / 72.0, 35.0, 120.0);
  scale.detail_harmonics = std::clamp(static_cast<int>(std::lround(0.13 * radius)), 14, 24);
  return scale;
}

double rounded(double value, double unit) { return std::round(value / unit) * unit; }

/// Whole steps, then the end itself; the last gap may be shorter, but not a sliver.
std::vector<double> stations_for(double length, double step) {
  const double end = std::floor(length * 1000.0) / 1000.0;
  std::vector<double> stations;
  for (int i = 0; i * step < end - 0.05 * step; ++i) stations.push_back(i * step);
  stations.push_back(end);
  return stations;
}

/// What was fitted: a surface about the spine that it was measured from.
struct Measured {
  Placement placement;
  FittedSurface surface;
  SeenMap seen;
};

/// One section of it, fine enough to be read between its angles.
struct OldSection {
  static constexpr int angles = 512;
  Eigen::VectorXd radii;
  Eigen::VectorXd sigmas;

  double radius(double turn) const {
    const double place = (turn - std::floor(turn)) * angles;
    const int j = std::min(static_cast<int>(place), angles - 1);
    return radii[j] + (place - j) * (radii[(j + 1) % angles] - radii[j]);
  }
  double sigma(double turn) const {
    return sigmas[static_cast<int>(std::lround((turn - std::floor(turn)) * angles)) % angles];
  }
};

double turn_of(const Eigen::Vector2d& arm) {
  return std::atan2(arm.y(), arm.x()) / (2.0 * std::numbers::pi);
}

/// From `from` along the unit vector `ray` to the outline, both relative to the old middle.
double reach_to(const OldSection& section, const Eigen::Vector2d& from,
                const Eigen::Vector2d& ray) {
  double reach = section.radius(turn_of(ray));
  for (int i = 0; i < 12; ++i) {
    const Eigen::Vector2d arm = from + reach * ray;
    reach = std::max(1.0, reach + section.radius(turn_of(arm)) - arm.norm());
  }
  return reach;
}

/// The section at a station about the present spine. The two frames differ by a small turn, along
/// which the surface does not change to speak of.
void fill_station(LogShape& shape, std::size_t i, const Placement& placement,
                  const Measured& measured) {
  const Eigen::Isometry3d back = measured.placement.scan_to_log * placement.scan_to_log.inverse();
  const double station = shape.stations[i];
  const auto section = placement.spine(station);
  shape.axis[i] = {rounded(section[0], 0.001), rounded(section[1], 0.001)};
  const Eigen::Vector3d centre = back * on_spine(placement.spine, station);
  const double x = centre.x();
  const Eigen::Vector2d from = centre.tail<2>() - measured.placement.spine(x).head<2>().transpose();
  const OldSection old{radii_at(measured.surface, x, OldSection::angles).cwiseMax(1.0),
                       sigmas_at(measured.surface, x, OldSection::angles)};
  for (int j = 0; j < shape.angles; ++j) {
    const double angle = 2.0 * std::numbers::pi * j / shape.angles;
    const Eigen::Vector3d ray =
        back.linear() * Eigen::Vector3d(0, std::cos(angle), std::sin(angle));
    const Eigen::Vector2d across = ray.tail<2>().normalized();
    const double reach = reach_to(old, from, across);
    const double turn = turn_of(from + reach * across);
    shape.radius[i].push_back(static_cast<float>(rounded(reach, 0.01)));
    shape.sigma[i].push_back(static_cast<float>(rounded(old.sigma(turn), 0.01)));
    shape.seen[i].push_back(is_seen(measured.seen, x, turn - std::floor(turn)) ? 1 : 0);
  }
}

void fill_stations(LogShape& shape, const Placement& placement, const Measured& measured) {
  const std::size_t count = shape.stations.size();
  shape.axis.resize(count);
  shape.radius.resize(count);
  shape.sigma.resize(count);
  shape.seen.resize(count);
#pragma omp parallel for schedule(static)
  for (std::ptrdiff_t i = 0; i < static_cast<std::ptrdiff_t>(count); ++i) {
    fill_station(shape, static_cast<std::size_t>(i), placement, measured);
  }
}

/// The same numbers written without minus zeros and dust from the products.
Eigen::Matrix4d without_dust(Eigen::Matrix4d matrix) {
  for (double& value : matrix.reshaped()) {
    if (std::abs(value) < 1e-13) value = 0.0;
  }
  return matrix;
}

void check(const ShapeSettings& s) {
  if (!(s.station_step >= 5.0 && s.station_step <= 100.0) || s.angles < 32 || s.angles > 512 ||
      !(s.bark.constant >= -100.0 && s.bark.constant <= 1000.0) || !(s.bark.linear >= 0.0) ||
      !(s.bark.linear <= 0.5) || !std::isfinite(s.bark.square)) {
    throw UserError(
        Fault::usage,
        "A shape takes stations 5 to 100 mm apart, 32 to 512 angles, and bark that is at most half "
        "of the log; choose other settings.");
  }
}

}  // namespace

LogShape fit_shape(const Scan& log, const ShapeSettings& settings) {
  check(settings);
  Placement placement = place_log(log);
  const double radius = mean_radius(placement);
  const PolarCloud cloud = settle_on_surface(log, placement, radius);
  Measured measured{placement,
                    fit_surface(cloud, rim_points(log.points, placement), radius,
                                fine_scale(placement.length, radius)),
                    {}};
  measured.seen = map_seen(cloud, measured.surface.means);
  recentre(placement, measured.surface);
  settle(placement);
  LogShape shape;
  shape.source = log.source;
  shape.scan_to_log = without_dust(placement.scan_to_log.matrix() * log.file_to_scan);
  shape.angles = settings.angles;
  shape.stations = stations_for(placement.length, settings.station_step);
  fill_stations(shape, placement, measured);
  put_bark(shape, settings.bark);
  shape.notes = notes_on(shape, placement, measured.surface);
  return shape;
}

}  // namespace kerfwright
