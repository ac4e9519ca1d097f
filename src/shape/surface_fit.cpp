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
constexpr double butt_reach = 2.5;      ///< mean radii over which a butt may swell
constexpr double first_roughness = 10.0;  ///< mm a cell, until the detail's size is known

CellValues sum_of(CellValues a, const CellValues& b) {
  for (std::size_t i = 0; i < a.size(); ++i) a[i] += b[i];
  return a;
}

CellMeans less(CellMeans means, const CellValues& surface) {
  for (std::size_t i = 0; i < surface.size(); ++i) means.radius[i] -= surface[i];
  return means;
}

EvenSpline knots_over(const CellGrid& grid, double step) {
  return even_spline(grid.start, grid.start + grid.rows * grid.row_height, step, 6);
}

/// The spine's middle by the knots of a basis.
Eigen::MatrixX2d on_knots(const Spine& spine, const EvenSpline& basis) {
  std::vector<Section> samples;
  const int count = 6 * basis.intervals;
  for (int i = 0; i <= count; ++i) {
    const double x = basis.start + (basis.end() - basis.start) * i / count;
    samples.push_back({x, spine(x)});
  }
  return resample(samples, basis).coefficients.leftCols<2>();
}

/// How far the cells lie inside a model, mm, robust standard deviation: what lies outside may be
/// burls.
double spread_inside(const CellMeans& means, const CellValues& stem) {
  std::vector<double> inside;
  for (std::size_t i = 0; i < stem.size(); ++i) {
    if (means.weight[i] > 0.5 && means.radius[i] < stem[i]) {
      inside.push_back(stem[i] - means.radius[i]);
    }
  }
  return sigma_of_mad * median(std::move(inside));
}

/// Shares that draw a model towards the lower envelope of the cells.
CellValues lower_side(const CellMeans& means, const CellValues& stem) {
  constexpr double outside = 0.12;
  CellValues shares(stem.size(), 1.0);
  for (std::size_t i = 0; i < stem.size(); ++i) {
    if (means.radius[i] > stem[i]) shares[i] = outside;
  }
  return shares;
}

/// Cells that stand off the stem (burls, stubs) count less for it. Wood grows outwards: what stands
/// out is let go of sooner than what lies in.
CellValues main_stem(const CellMeans& means, const CellValues& stem, double limit) {
  constexpr double inwards = 2.5;
  CellValues shares(stem.size());
  for (std::size_t i = 0; i < stem.size(); ++i) {
    const double off = means.radius[i] - stem[i];
    shares[i] = tukey_weight(off, off > 0.0 ? limit : inwards * limit);
  }
  return shares;
}

/// Adds the rim where the bark beside it was not seen; `stem` is taken off where given.
void add_rim(const std::vector<RimPoint>& rim, const SeenMap& seen, const CellValues* stem,
             std::vector<RowEvidence>& evidence) {
  const CellGrid& grid = seen.grid;
  for (const RimPoint& p : rim) {
    if (is_seen(seen, p.x, p.turn)) continue;
    RowEvidence one{p.x, Eigen::VectorXd::Zero(grid.columns), Eigen::VectorXd::Zero(grid.columns)};
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
  return 0.25 * detail_size * detail_range / std::sqrt(cell);
}

/// By how much each cell shows the stem and not a burl or a stub on it, 0 to 1. A stem that may
/// bend at will would follow a burl that takes half of the girth seen; so a stiff one is laid along
/// the lower side first and then drawn tighter step by step: `limit` is how far a cell may stand
/// out, `sigma` how well a stretch from knot to knot is taken to show the stem, mm.
CellValues shares_of_stem(const PolarCloud& cloud, const CellMeans& means,
                          const std::vector<RimPoint>& rim, const SeenMap& seen, double mean_radius,
                          const FittedSurface& fitted) {
  SurfaceModel stem = empty_model(fitted.form.basis, mean_radius, 6);
  set_stiff_prior(stem, mean_radius);
  stem.axis = fitted.form.axis;
  loosen_butt(stem, butt_reach * mean_radius);
  const auto cells = std::count_if(means.weight.begin(), means.weight.end(),
                                   [](double weight) { return weight > 0.0; });
  const double spread = std::sqrt(static_cast<double>(cells) / stem.basis.intervals + 1.0);
  const auto solve = [&](const CellValues& shares, double sigma) {
    auto evidence = evidence_of(cloud.grid, means, fitted.noise, sigma * spread, shares);
    add_rim(rim, seen, nullptr, evidence);
    solve_surface(stem, evidence);
    return surface_on(stem, cloud.grid);
  };
  CellValues shares, surface = solve({}, 6.0);
  for (int round = 0; round < 4; ++round) surface = solve(lower_side(means, surface), 6.0);
  for (const auto& [limit, sigma] : {std::pair{16.0, 4.0}, {11.0, 3.0}, {7.0, 2.0}, {7.0, 1.5}}) {
    const double usual = std::min(25.0, 3.0 * spread_inside(means, surface));
    shares = main_stem(means, surface, std::max(limit, usual));
    surface = solve(shares, sigma);
  }
  return shares;
}

void fit_form(FittedSurface& fitted, const PolarCloud& cloud, const std::vector<RimPoint>& rim,
              const SeenMap& seen, double mean_radius, bool first) {
  const CellMeans inner = trusting_edges_less(cloud, fitted.means);
  fitted.stem = shares_of_stem(cloud, inner, rim, seen, mean_radius, fitted);
  const double roughness =
      first ? first_roughness : roughness_of(cloud.grid, fitted.background, mean_radius);
  const int steps = first ? 6 : 3;
  for (int step = 0; step <= steps; ++step) {
    auto evidence = evidence_of(cloud.grid, inner, fitted.noise, roughness, fitted.stem);
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

/// What the detail adds to the stem where no burl stands on it, mm, standard deviation.
double background_of(const FittedSurface& fitted, const CellValues& detail) {
  double sum = 0, count = 0;
  for (std::size_t i = 0; i < detail.size(); ++i) {
    if (fitted.means.weight[i] < 0.5) continue;
    const double share = fitted.stem[i];
    sum += share * detail[i] * detail[i];
    count += share;
  }
  return count > 0.0 ? std::max(least_detail, std::sqrt(sum / count)) : fitted.detail_size;
}

}  // namespace

FittedSurface fit_surface(const PolarCloud& cloud, const std::vector<RimPoint>& rim,
                          double mean_radius, const SurfaceScale& scale) {
  FittedSurface fitted;
  fitted.form =
      empty_model(knots_over(cloud.grid, scale.form_step), mean_radius, scale.form_harmonics);
  fitted.detail =
      empty_model(knots_over(cloud.grid, scale.detail_step), mean_radius, scale.detail_harmonics);
  fitted.form.axis = on_knots(cloud.spine, fitted.form.basis);
  loosen_butt(fitted.form, butt_reach * mean_radius);
  fitted.means = block_medians(cloud);
  fitted.layered = fitted.means.layered;
  SeenMap seen = map_seen(cloud, fitted.means);
  fitted.means = only_seen(seen, fitted.means);
  for (int round = 0; round < scale.rounds; ++round) {
    fit_form(fitted, cloud, rim, seen, mean_radius, round == 0);
    const CellValues stem = surface_on(fitted.form, cloud.grid);
    fit_detail(fitted, cloud, rim, seen, stem, mean_radius);
    const CellValues detail = surface_on(fitted.detail, cloud.grid);
    fitted.background = background_of(fitted, detail);
    const CellValues surface = sum_of(stem, detail);
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
  constexpr double stretch = 0.9, floor = 0.1;
  const Eigen::ArrayXd near = section_sigmas(surface.detail, x, angles).array().square();
  const Eigen::ArrayXd far =
      stretch * stretch * section_sigmas(surface.form, x, angles).array().square();
  const Eigen::ArrayXd open = (near / (surface.detail_size * surface.detail_size)).min(1.0);
  return (near + far * open.square() + floor * floor).sqrt();
}

}  // namespace kerfwright
