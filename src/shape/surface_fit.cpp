#include "surface_fit.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "robust.hpp"

namespace kerfwright {
namespace {

constexpr double detail_range = 150.0;  ///< mm, after which the detail has nearly forgotten itself
constexpr double least_noise = 0.3;     ///< mm, so that points without noise do not divide by zero
constexpr double least_detail = 0.3;    ///< mm
constexpr double first_roughness = 10.0;  ///< mm a cell, until the detail's size is known

CellValues sum_of(CellValues a, const CellValues& b) {
  for (std::size_t i = 0; i < a.size(); ++i) a[i] += b[i];
  return a;
}

CellMeans less(CellMeans means, const CellValues& surface) {
  for (std::size_t i = 0; i < surface.size(); ++i) means.radius[i] -= surface[i];
  return means;
}

/// Cells that stand off the form so far (burls, stubs) count less for it.
CellMeans main_stem(const CellGrid& grid, CellMeans means, const SurfaceModel& form) {
  const CellValues stem = surface_on(form, grid);
  std::vector<double> off;
  for (std::size_t i = 0; i < stem.size(); ++i) {
    if (means.weight[i] > 0.5) off.push_back(std::abs(means.radius[i] - stem[i]));
  }
  const double limit = std::max(10.0, 5.0 * median(std::move(off)));
  for (std::size_t i = 0; i < stem.size(); ++i) {
    means.weight[i] *= tukey_weight(means.radius[i] - stem[i], limit);
  }
  return means;
}

/// Adds the rim where the bark beside it was not seen; `stem` is taken off where given.
void add_rim(const std::vector<RimPoint>& rim, const SeenMap& seen, const CellValues* stem,
             std::vector<Evidence>& evidence) {
  const CellGrid& grid = seen.grid;
  for (const RimPoint& p : rim) {
    if (is_seen(seen, p.x, p.turn)) continue;
    Evidence one{p.x, Eigen::VectorXd::Zero(grid.columns), Eigen::VectorXd::Zero(grid.columns)};
    const int column = static_cast<int>(std::lround(p.turn * grid.columns)) % grid.columns;
    const PolarPoint place{static_cast<float>(p.x), static_cast<float>(column), 0.0F};
    one.precision[column] = 1.0 / (p.sigma * p.sigma);
    one.radius[column] = p.radius - (stem != nullptr ? value_at(grid, *stem, place) : 0.0);
    evidence.push_back(std::move(one));
  }
}

/// The detail is noise to the form, and such that its neighbours share it: a cell alone must count
/// as rougher by the number of cells that speak with one voice. The factor was found by
/// measurement.
double roughness_of(const CellGrid& grid, double detail_size, double mean_radius) {
  const double cell = grid.row_height * 2.0 * std::numbers::pi * mean_radius / grid.columns;  // mm2
  return 0.4 * detail_size * detail_range / std::sqrt(cell);
}

void fit_form(FittedSurface& fitted, const PolarCloud& cloud, const std::vector<RimPoint>& rim,
              const SeenMap& seen, double mean_radius, bool first) {
  const CellMeans inner = trusting_edges_less(cloud, fitted.means);
  const double roughness =
      first ? first_roughness : roughness_of(cloud.grid, fitted.detail_size, mean_radius);
  const int steps = first ? 6 : 3;
  for (int step = 0; step <= steps; ++step) {
    const bool blank = first && step == 0;
    auto evidence =
        evidence_of(cloud.grid, blank ? inner : main_stem(cloud.grid, inner, fitted.form),
                    fitted.noise, roughness);
    add_rim(rim, seen, nullptr, evidence);
    solve_surface(fitted.form, evidence);
    if (step < steps) learn_prior(fitted.form, mean_radius);
  }
}

void fit_detail(FittedSurface& fitted, const PolarCloud& cloud, const std::vector<RimPoint>& rim,
                const SeenMap& seen, const CellValues& stem, double mean_radius) {
  auto evidence = evidence_of(cloud.grid, less(fitted.means, stem), fitted.noise, 0.0);
  add_rim(rim, seen, &stem, evidence);
  set_local_prior(fitted.detail, mean_radius, detail_range, fitted.detail_size);
  solve_surface(fitted.detail, evidence);
  fitted.detail_size = std::max(least_detail, learn_size(fitted.detail, fitted.detail_size));
  set_local_prior(fitted.detail, mean_radius, detail_range, fitted.detail_size);
  solve_surface(fitted.detail, evidence);
}

}  // namespace

FittedSurface fit_surface(const PolarCloud& cloud, const std::vector<RimPoint>& rim,
                          double mean_radius, const SurfaceScale& scale) {
  FittedSurface fitted;
  fitted.form = empty_model(cloud.grid, mean_radius, scale.form_step, scale.form_harmonics);
  fitted.detail = empty_model(cloud.grid, mean_radius, scale.detail_step, scale.detail_harmonics);
  fitted.means = block_medians(cloud);
  fitted.layered = fitted.means.layered;
  SeenMap seen = map_seen(cloud, fitted.means);
  fitted.means = only_seen(seen, fitted.means);
  for (int round = 0; round < scale.rounds; ++round) {
    fit_form(fitted, cloud, rim, seen, mean_radius, round == 0);
    const CellValues stem = surface_on(fitted.form, cloud.grid);
    fit_detail(fitted, cloud, rim, seen, stem, mean_radius);
    const CellValues surface = sum_of(stem, surface_on(fitted.detail, cloud.grid));
    fitted.noise = std::max(least_noise, noise_about(cloud, surface));
    fitted.means = robust_means(cloud, surface, fitted.noise);
    seen = map_seen(cloud, fitted.means);
    fitted.means = only_seen(seen, fitted.means);
  }
  return fitted;
}

Eigen::VectorXd radii_at(const FittedSurface& surface, double x, int angles) {
  return section_radii(surface.form, x, angles) + section_radii(surface.detail, x, angles);
}

Eigen::VectorXd sigmas_at(const FittedSurface& surface, double x, int angles) {
  // What the form does not know counts as far as the detail was left without points to put it
  // right. The stretch and the floor were measured on invented logs, so that two sigmas hold 95 %.
  constexpr double stretch = 1.2, floor = 0.1;
  const Eigen::ArrayXd near = section_sigmas(surface.detail, x, angles).array().square();
  const Eigen::ArrayXd far =
      stretch * stretch * section_sigmas(surface.form, x, angles).array().square();
  const Eigen::ArrayXd open = (near / (surface.detail_size * surface.detail_size)).min(1.0);
  return (near + far * open.square() + floor * floor).sqrt();
}

}  // namespace kerfwright
