#include "surface.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>

#include "kerfwright/error.hpp"

namespace kerfwright {
namespace {

/// cos and sin of the multiples of a full turn / `steps`.
struct CircleTable {
  std::vector<double> cosine, sine;
  explicit CircleTable(int steps) {
    for (int i = 0; i < steps; ++i) {
      const double angle = 2.0 * std::numbers::pi * i / steps;
      cosine.push_back(std::cos(angle));
      sine.push_back(std::sin(angle));
    }
  }
};

/// Row c: the functions at angle c.
Eigen::MatrixXd functions_round(int angles, int harmonics) {
  const CircleTable table(angles);
  Eigen::MatrixXd functions(angles, 2 * harmonics + 1);
  for (int c = 0; c < angles; ++c) {
    functions(c, 0) = 1.0;
    for (int k = 1; k <= harmonics; ++k) {
      const auto place = static_cast<std::size_t>((k * c) % angles);
      functions(c, 2 * k - 1) = table.cosine[place];
      functions(c, 2 * k) = table.sine[place];
    }
  }
  return functions;
}

/// What a row of cells adds to the equations: sums of weight f f' and weight f radius over the
/// girth.
struct RowSums {
  Eigen::MatrixXd normal;
  Eigen::VectorXd right;
};

/// Products of two harmonics are harmonics of the sum and the difference of their numbers, so the
/// Fourier sums of the weights fill the whole matrix.
Eigen::MatrixXd normal_from_fourier(const Eigen::VectorXd& c, const Eigen::VectorXd& s,
                                    int harmonics) {
  Eigen::MatrixXd normal(2 * harmonics + 1, 2 * harmonics + 1);
  normal(0, 0) = c[0];
  for (int k = 1; k <= harmonics; ++k) {
    normal(2 * k - 1, 0) = normal(0, 2 * k - 1) = c[k];
    normal(2 * k, 0) = normal(0, 2 * k) = s[k];
    for (int l = 1; l <= k; ++l) {
      const double cos_cos = 0.5 * (c[k - l] + c[k + l]), sin_sin = 0.5 * (c[k - l] - c[k + l]);
      const double sin_cos = 0.5 * (s[k + l] + s[k - l]);  // sin k, cos l
      const double cos_sin = 0.5 * (s[k + l] - s[k - l]);  // cos k, sin l
      normal(2 * k - 1, 2 * l - 1) = normal(2 * l - 1, 2 * k - 1) = cos_cos;
      normal(2 * k, 2 * l) = normal(2 * l, 2 * k) = sin_sin;
      normal(2 * k, 2 * l - 1) = normal(2 * l - 1, 2 * k) = sin_cos;
      normal(2 * k - 1, 2 * l) = normal(2 * l, 2 * k - 1) = cos_sin;
    }
  }
  return normal;
}

RowSums sum_row(const RowEvidence& row, const Eigen::MatrixXd& functions, int harmonics) {
  // `functions` runs to twice the highest harmonic, for the products.
  const Eigen::VectorXd weights = functions.transpose() * row.precision;
  const Eigen::VectorXd pull = row.precision.cwiseProduct(row.radius);
  Eigen::VectorXd c(2 * harmonics + 1), s = Eigen::VectorXd::Zero(2 * harmonics + 1);
  c[0] = weights[0];
  for (int q = 1; q <= 2 * harmonics; ++q) {
    c[q] = weights[2 * q - 1];
    s[q] = weights[2 * q];
  }
  return {normal_from_fourier(c, s, harmonics),
          functions.leftCols(2 * harmonics + 1).transpose() * pull};
}

/// Entry (i, i - back) of the precision of one harmonic's coefficients.
double prior_entry(const HarmonicPrior& prior, const std::vector<double>& bend, int i, int back) {
  const int n = static_cast<int>(bend.size()) + 2;
  double entry = back == 0 ? prior.level : 0.0;
  const std::array<double, 2> first{-1, 1};
  const std::array<double, 3> second{1, -2, 1};
  for (int start = std::max(0, i - 1); start <= i && start + 1 < n; ++start) {
    const int a = i - start, b = a - back;
    if (b >= 0)
      entry +=
          prior.slope * first[static_cast<std::size_t>(a)] * first[static_cast<std::size_t>(b)];
  }
  for (int start = std::max(0, i - 2); start <= i && start + 2 < n; ++start) {
    const int a = i - start, b = a - back;
    if (b >= 0) {
      entry += prior.curvature * bend[static_cast<std::size_t>(start)] *
               second[static_cast<std::size_t>(a)] * second[static_cast<std::size_t>(b)];
    }
  }
  return entry;
}

/// Only the mean radius bends more in some places than in others.
std::vector<double> bend_of(const SurfaceModel& model, int k) {
  return k == 0 ? model.bend : std::vector<double>(model.bend.size(), 1.0);
}

void add_prior(const SurfaceModel& model, BlockBand& equations) {
  const int n = model.basis.size();
  const std::vector<double> own = bend_of(model, 0), even = bend_of(model, 1);
  for (int i = 0; i < n; ++i) {
    for (int back = 0; back <= std::min(i, 2); ++back) {
      for (int f = 0; f < model.functions(); ++f) {
        equations.at(i, back)(f, f) += prior_entry(
            model.prior[static_cast<std::size_t>((f + 1) / 2)], f == 0 ? own : even, i, back);
      }
    }
  }
}

/// The bend of the axis from which radii are measured is a part of the stem's own.
void add_bend_of_axis(const SurfaceModel& model, Eigen::VectorXd& right) {
  const int n = model.basis.size(), m = model.functions();
  if (model.axis.rows() != n) {
    throw UserError(Fault::internal,
                    "The axis has other knots than the surface; please report this with the scan.");
  }
  const HarmonicPrior bend{0.0, 0.0, model.prior[1].curvature};
  const std::vector<double> even = bend_of(model, 1);
  for (int i = 0; i < n; ++i) {
    for (int j = std::max(0, i - 2); j <= std::min(n - 1, i + 2); ++j) {
      const double entry = prior_entry(bend, even, std::max(i, j), std::abs(i - j));
      right.segment<2>(i * m + 1) -= entry * model.axis.row(j).transpose();
    }
  }
}

/// Sums of squares of something with this band: of its values, first and second differences.
struct Energies {
  double level = 0, slope = 0, curvature = 0;
};

/// `entry(i, back)` is an element (i, i - back) of a symmetric matrix M; gives the traces of M with
/// the three penalties.
template <typename Entry>
Energies traces(const std::vector<double>& bend, const Entry& entry) {
  Energies sum;
  const int n = static_cast<int>(bend.size()) + 2;
  for (int i = 0; i < n; ++i) {
    sum.level += entry(i, 0);
    if (i >= 1) sum.slope += entry(i, 0) + entry(i - 1, 0) - 2.0 * entry(i, 1);
    if (i >= 2) {
      const double square = entry(i, 0) + 4.0 * entry(i - 1, 0) + entry(i - 2, 0) -
                            4.0 * entry(i, 1) - 4.0 * entry(i - 1, 1) + 2.0 * entry(i, 2);
      sum.curvature += bend[static_cast<std::size_t>(i) - 2] * square;
    }
  }
  return sum;
}

/// The same of the prior's own covariance.
Energies prior_energies(const HarmonicPrior& prior, const std::vector<double>& bend) {
  const int n = static_cast<int>(bend.size()) + 2;
  BlockBand precision(n, 1);
  for (int i = 0; i < n; ++i) {
    for (int back = 0; back <= std::min(i, 2); ++back) {
      precision.at(i, back)(0, 0) = prior_entry(prior, bend, i, back);
    }
  }
  factorise(precision);
  const BlockBand covariance = band_of_inverse(precision);
  return traces(bend, [&](int i, int back) { return covariance.at(i, back)(0, 0); });
}

/// What logs are like before any point is seen: harmonics fall off with their number and change
/// over a few hundred millimetres along the log. A weak word only, except that an ovality that
/// stays along the whole log (`count` knots) may always be half as large as is usual: half a girth
/// alone cannot tell it from a circle about another centre, and must not say that it can.
HarmonicPrior usual_prior(int k, double mean_radius, double step, int count) {
  constexpr double free = 1e-9;
  const double size = 0.03 * mean_radius * std::pow(2.0 / std::max(k, 2), 2);
  const double reach = std::max(120.0, 800.0 / std::max(k, 1)) / step;  // in knots
  const double precision = 1.0 / (size * size);
  if (k < 2) return {free, 0.0, precision * std::pow(reach, 3)};
  return {k == 2 ? precision / count : 0.2 * precision, 0.3 * precision * reach,
          0.1 * precision * std::pow(reach, 3)};
}

/// The new precision: what the points still leave open of the prior's freedom, over the energy
/// found.
double step_towards(double now, double freedom, double energy, double usual) {
  constexpr double word = 0.3;  ///< how many observations the expectation is worth
  const double next = (std::max(0.0, freedom) + word) / (energy + word / usual);
  return std::clamp(next, 0.05 * now, 20.0 * now);
}

}  // namespace

SurfaceModel empty_model(const EvenSpline& basis, double mean_radius, int harmonics) {
  SurfaceModel model;
  model.basis = basis;
  model.harmonics = harmonics;
  for (int k = 0; k <= model.harmonics; ++k) {
    model.prior.push_back(usual_prior(k, mean_radius, model.basis.step, model.basis.size()));
  }
  model.coefficients = Eigen::VectorXd::Zero(model.basis.size() * model.functions());
  model.axis = Eigen::MatrixX2d::Zero(model.basis.size(), 2);
  model.bend.assign(static_cast<std::size_t>(model.basis.size()) - 2, 1.0);
  return model;
}

std::vector<RowEvidence> evidence_of(const CellGrid& grid, const CellMeans& means, double noise,
                                     double roughness, const CellValues& shares) {
  std::vector<RowEvidence> evidence;
  for (int row = 0; row < grid.rows; ++row) {
    RowEvidence one{grid.row_centre(row), Eigen::VectorXd::Zero(grid.columns),
                    Eigen::VectorXd::Zero(grid.columns)};
    for (int column = 0; column < grid.columns; ++column) {
      const double weight = means.weight[grid.cell(row, column)];
      if (weight <= 1e-3) continue;
      const double share = shares.empty() ? 1.0 : shares[grid.cell(row, column)];
      one.precision[column] = share / (noise * noise / weight + roughness * roughness);
      one.radius[column] = means.radius[grid.cell(row, column)];
    }
    if (one.precision.maxCoeff() > 0.0) evidence.push_back(std::move(one));
  }
  return evidence;
}

void loosen_butt(SurfaceModel& model, double reach) {
  constexpr double factor = 0.06;  // four times the bend
  for (std::size_t i = 0; i < model.bend.size(); ++i) {
    if (static_cast<double>(i) * model.basis.step < reach) model.bend[i] = factor;
  }
}

void set_stiff_prior(SurfaceModel& model, double mean_radius) {
  // mm from knot to knot if these were 120 mm apart; by common experience, no source: a bow of
  // 40 mm a metre bends by 1.2 mm, taper hardly at all
  constexpr double free = 1e-9, taper_bend = 0.3, axis_bend = 1.2, form_slope = 0.6;
  const double share = model.basis.step / 120.0;
  const auto precision = [](double sd) { return 1.0 / (sd * sd); };
  for (int k = 0; k <= model.harmonics; ++k) {
    HarmonicPrior& prior = model.prior[static_cast<std::size_t>(k)];
    if (k < 2) {
      prior = {free, 0.0, precision((k == 0 ? taper_bend : axis_bend) * std::pow(share, 1.5))};
    } else {
      const double level = 0.1 * mean_radius * 2.0 / k;
      prior = {precision(level * std::sqrt(static_cast<double>(model.basis.size()))),
               precision(form_slope * std::sqrt(share)), precision(0.5 * std::pow(share, 1.5))};
    }
  }
}

void solve_surface(SurfaceModel& model, const std::vector<RowEvidence>& evidence) {
  if (evidence.empty()) {
    throw UserError(
        Fault::no_log,
        "The points lie too thinly to carry a surface; scan the log again, slower and nearer.");
  }
  const auto columns = static_cast<int>(evidence.front().precision.size());
  const Eigen::MatrixXd functions = functions_round(columns, 2 * model.harmonics);
  std::vector<RowSums> rows(evidence.size());
  const auto count = static_cast<std::ptrdiff_t>(evidence.size());
#pragma omp parallel for schedule(static)
  for (std::ptrdiff_t row = 0; row < count; ++row) {
    const auto i = static_cast<std::size_t>(row);
    rows[i] = sum_row(evidence[i], functions, model.harmonics);
  }
  const int m = model.functions();
  BlockBand equations(model.basis.size(), m);
  Eigen::VectorXd right = Eigen::VectorXd::Zero(model.coefficients.size());
  for (std::size_t row = 0; row < rows.size(); ++row) {
    const SplineSupport support = model.basis.at(evidence[row].x);
    for (int a = 0; a < 4; ++a) {
      const double wa = support.weight[static_cast<std::size_t>(a)];
      right.segment((support.first + a) * m, m) += wa * rows[row].right;
      for (int b = 0; b <= a; ++b) {
        equations.at(support.first + a, a - b) +=
            wa * support.weight[static_cast<std::size_t>(b)] * rows[row].normal;
      }
    }
  }
  add_prior(model, equations);
  add_bend_of_axis(model, right);
  factorise(equations);
  model.coefficients = solve(equations, right);
  model.covariance = band_of_inverse(equations);
}

void set_local_prior(SurfaceModel& model, double radius, double range, double size) {
  const double kappa = std::sqrt(8.0) / range, h = model.basis.step;
  const double pi = std::numbers::pi;
  const double tau2 = 1.0 / (4.0 * pi * kappa * kappa * size * size);
  for (int k = 0; k <= model.harmonics; ++k) {
    const double wave = k / radius;
    const double c = kappa * kappa + wave * wave;
    const double scale = tau2 * (k == 0 ? 2.0 : 1.0) * pi * radius;
    // Integrals of squares of a, a' and a'' over x, by their B-spline coefficients.
    model.prior[static_cast<std::size_t>(k)] = {scale * c * c * h, scale * 2.0 * c / h,
                                                scale / (h * h * h)};
  }
}

double learn_size(const SurfaceModel& model, double size) {
  const int n = model.basis.size(), m = model.functions();
  double energy = 0, unsure = 0;
  const std::vector<double> bend = bend_of(model, 1);
  for (int f = 0; f < m; ++f) {
    const HarmonicPrior& prior = model.prior[static_cast<std::size_t>((f + 1) / 2)];
    const auto weigh = [&](const Energies& e) {
      return prior.level * e.level + prior.slope * e.slope + prior.curvature * e.curvature;
    };
    unsure +=
        weigh(traces(bend, [&](int i, int back) { return model.covariance.at(i, back)(f, f); }));
    energy += weigh(traces(bend, [&](int i, int back) {
      return model.coefficients[i * m + f] * model.coefficients[(i - back) * m + f];
    }));
  }
  const double freedom = std::max(1.0, static_cast<double>(n) * m - unsure);
  return size * std::sqrt(std::clamp((energy + 1e-9) / freedom, 0.1, 10.0));
}

void learn_prior(SurfaceModel& model, double mean_radius) {
  const int m = model.functions();
  for (int k = 0; k <= model.harmonics; ++k) {
    HarmonicPrior& prior = model.prior[static_cast<std::size_t>(k)];
    const HarmonicPrior usual = usual_prior(k, mean_radius, model.basis.step, model.basis.size());
    const std::vector<double> bend = bend_of(model, k);
    const Energies expected = prior_energies(prior, bend);
    Energies kept, found;
    const int copies = k == 0 ? 1 : 2;
    for (int f = k == 0 ? 0 : 2 * k - 1; f <= 2 * k; ++f) {
      const auto covariance = [&](int i, int back) { return model.covariance.at(i, back)(f, f); };
      const auto value = [&](int i) {
        return model.coefficients[i * m + f] + (k == 1 ? model.axis(i, f - 1) : 0.0);
      };
      const auto square = [&](int i, int back) { return value(i) * value(i - back); };
      const Energies unsure = traces(bend, covariance), fitted = traces(bend, square);
      kept.level += unsure.level, kept.slope += unsure.slope, kept.curvature += unsure.curvature;
      found.level += fitted.level, found.slope += fitted.slope, found.curvature += fitted.curvature;
    }
    const auto step = [&](double now, double prior_trace, double posterior, double energy,
                          double expect) {
      return step_towards(now, now * (copies * prior_trace - posterior), energy, expect);
    };
    prior.curvature =
        step(prior.curvature, expected.curvature, kept.curvature, found.curvature, usual.curvature);
    if (k < 2) continue;
    prior.level = step(prior.level, expected.level, kept.level, found.level, usual.level);
    if (k == 2) prior.level = std::min(prior.level, 4.0 * usual.level);  // see usual_prior
    prior.slope = step(prior.slope, expected.slope, kept.slope, found.slope, usual.slope);
  }
}

Eigen::VectorXd section_coefficients(const SurfaceModel& model, double x) {
  const SplineSupport support = model.basis.at(x);
  const int m = model.functions();
  Eigen::VectorXd sum = Eigen::VectorXd::Zero(m);
  for (int a = 0; a < 4; ++a) {
    sum += support.weight[static_cast<std::size_t>(a)] *
           model.coefficients.segment((support.first + a) * m, m);
  }
  return sum;
}

CellValues surface_on(const SurfaceModel& model, const CellGrid& grid) {
  const Eigen::MatrixXd functions = functions_round(grid.columns, model.harmonics);
  CellValues values(grid.size());
#pragma omp parallel for schedule(static)
  for (int row = 0; row < grid.rows; ++row) {
    Eigen::Map<Eigen::VectorXd>(values.data() + grid.cell(row, 0), grid.columns) =
        functions * section_coefficients(model, grid.row_centre(row));
  }
  return values;
}

Eigen::VectorXd section_radii(const SurfaceModel& model, double x, int angles) {
  return functions_round(angles, model.harmonics) * section_coefficients(model, x);
}

Eigen::VectorXd section_sigmas(const SurfaceModel& model, double x, int angles) {
  const SplineSupport support = model.basis.at(x);
  Eigen::MatrixXd covariance = Eigen::MatrixXd::Zero(model.functions(), model.functions());
  for (int a = 0; a < 4; ++a) {
    const double wa = support.weight[static_cast<std::size_t>(a)];
    for (int b = 0; b <= a; ++b) {
      const Eigen::MatrixXd& block = model.covariance.at(support.first + a, a - b);
      const double weight = wa * support.weight[static_cast<std::size_t>(b)];
      covariance += weight * block;
      if (b < a) covariance += weight * block.transpose();
    }
  }
  const Eigen::MatrixXd functions = functions_round(angles, model.harmonics);
  return ((functions * covariance).cwiseProduct(functions).rowwise().sum())
      .cwiseMax(0.0)
      .cwiseSqrt();
}

}  // namespace kerfwright
