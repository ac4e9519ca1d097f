#include "rough_surface.hpp"

#include <Eigen/SparseCholesky>
#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>

#include "quantile.hpp"

namespace kerfwright {
namespace {

constexpr double two_pi = 2.0 * std::numbers::pi;
constexpr double lowest = 0.55, highest = 1.55;  ///< radii, where the surface is looked for
constexpr int bins = 50;
constexpr double bin_width = (highest - lowest) / bins;
constexpr double noise_band = 0.14;  ///< radii; what lies farther from the surface is no noise

/// The fullest three neighbouring bins, near ones preferred, and the mean of their points.
struct Peak {
  double out = 1.0;
  int points = 0;
};

Peak find_peak(const std::array<int, bins>& count, const std::array<double, bins>& sum,
               double guess) {
  Peak best;
  double best_score = 0.0;
  for (int b = 1; b + 1 < bins; ++b) {
    const auto at = static_cast<std::size_t>(b);
    const int points = count[at - 1] + count[at] + count[at + 1];
    if (points == 0) continue;
    const double out = (sum[at - 1] + sum[at] + sum[at + 1]) / points;
    const double off = (out - guess) / 0.25;
    const double score = points * std::exp(-0.5 * off * off);
    if (score <= best_score) continue;
    best_score = score;
    best = {out, points};
  }
  return best;
}

double biweight(double t) { return std::abs(t) < 1.0 ? (1.0 - t * t) * (1.0 - t * t) : 0.0; }

}  // namespace

RoughSurface::RoughSurface(double first, double last, double step)
    : first_(first),
      step_(step),
      rows_(std::max(4, static_cast<int>(std::ceil((last - first) / step)))) {
  out_.assign(static_cast<std::size_t>(rows_ * angles), 1.0);
}

double RoughSurface::out(double along, double angle) const {
  const double row = std::clamp((along - first_) / step_ - 0.5, 0.0, rows_ - 1.001);
  const double turn = angle / two_pi * angles - 0.5;
  const int r = static_cast<int>(row);
  const int a = static_cast<int>(std::floor(turn));
  const double fr = row - r, fa = turn - a;
  return (1 - fr) * ((1 - fa) * out_[slot(r, a)] + fa * out_[slot(r, a + 1)]) +
         fr * ((1 - fa) * out_[slot(r + 1, a)] + fa * out_[slot(r + 1, a + 1)]);
}

void RoughSurface::solve(const std::vector<double>& seen, const std::vector<double>& weight,
                         double round, double along) {
  const auto n = static_cast<int>(out_.size());
  std::vector<Eigen::Triplet<double>> entries;
  Eigen::VectorXd right(n);
  constexpr double pull = 0.01;  // to the circle, where nothing else is known
  for (int i = 0; i < n; ++i) {
    const auto at = static_cast<std::size_t>(i);
    entries.emplace_back(i, i, weight[at] + pull);
    right[i] = weight[at] * seen[at] + pull;
  }
  const auto bend = [&](int a, int b, int c, double w) {
    const std::array<int, 3> at{a, b, c};
    constexpr std::array<double, 3> share{1.0, -2.0, 1.0};
    for (std::size_t i = 0; i < 3; ++i)
      for (std::size_t j = 0; j < 3; ++j)
        entries.emplace_back(at[i], at[j], w * share[i] * share[j]);
  };
  const auto id = [this](int row, int angle) { return static_cast<int>(slot(row, angle)); };
  for (int row = 0; row < rows_; ++row)
    for (int angle = 0; angle < angles; ++angle) {
      bend(id(row, angle - 1), id(row, angle), id(row, angle + 1), round);
      if (row > 0 && row + 1 < rows_)
        bend(id(row - 1, angle), id(row, angle), id(row + 1, angle), along);
    }
  Eigen::SparseMatrix<double> matrix(n, n);
  matrix.setFromTriplets(entries.begin(), entries.end());
  const Eigen::VectorXd solution =
      Eigen::SimplicialLDLT<Eigen::SparseMatrix<double>>(matrix).solve(right);
  std::copy(solution.begin(), solution.end(), out_.begin());
}

/// Where the points of each column of the grid lie, between `lowest` and `highest`.
struct RoughSurface::Columns {
  std::vector<std::array<int, bins>> count;
  std::vector<std::array<double, bins>> sum;
};

RoughSurface::Columns RoughSurface::sort_in(const Unwrapped& near,
                                            const std::vector<unsigned char>& foreign) const {
  Columns columns{std::vector<std::array<int, bins>>(out_.size()),
                  std::vector<std::array<double, bins>>(out_.size())};
  for (std::size_t i = 0; i < near.index.size(); ++i) {
    const double out = near.out[i];
    const int row = static_cast<int>(std::floor((near.along[i] - first_) / step_));
    if (out <= lowest || out >= highest || row < 0 || row >= rows_) continue;
    if (!foreign.empty() && foreign[i] != 0) continue;
    const std::size_t at = slot(row, static_cast<int>(near.angle[i] / two_pi * angles));
    const auto bin =
        static_cast<std::size_t>(std::min(bins - 1, static_cast<int>((out - lowest) / bin_width)));
    ++columns.count[at][bin];
    columns.sum[at][bin] += out;
  }
  return columns;
}

void RoughSurface::fit(const Unwrapped& near, const std::vector<unsigned char>& foreign,
                       double along, double band) {
  const Columns columns = sort_in(near, foreign);
  std::vector<double> peaks(out_.size()), weight(out_.size());
  constexpr std::array<double, 6> narrowing{0.35, 0.28, 0.22, 0.17, 0.14, 0.14};
  constexpr std::array<double, 6> stiffness{20.0, 10.0, 5.0, 2.0, 1.0, 1.0};
  seen_.assign(out_.size(), 0);
  for (std::size_t round = 0; round < narrowing.size(); ++round) {
    const double reach = std::max(band, narrowing[round]);
    for (std::size_t i = 0; i < out_.size(); ++i) {
      const Peak peak = find_peak(columns.count[i], columns.sum[i], out_[i]);
      const double off = peak.out - out_[i];
      peaks[i] = peak.out;
      weight[i] = std::min(1.0, peak.points / 4.0) * biweight(off / reach);
      seen_[i] = peak.points > 0 && std::abs(off) < band ? 1 : 0;
    }
    solve(peaks, weight, stiffness[round], along * stiffness[round]);
  }
  measure_noise(near);
}

void RoughSurface::measure_noise(const Unwrapped& near) {
  std::vector<double> offs;
  for (std::size_t i = 0; i < near.index.size(); i += near.index.size() / 20000 + 1) {
    const double off = near.out[i] - out(near.along[i], near.angle[i]);
    if (std::abs(off) < noise_band) offs.push_back(std::abs(off));
  }
  noise_ = offs.empty() ? 0.0 : 1.4826 * take_quantile(offs);
}

double RoughSurface::girth() const {
  const auto seen = std::count(seen_.begin(), seen_.end(), 1);
  return static_cast<double>(seen) / static_cast<double>(out_.size());
}

double RoughSurface::roundness() const {
  std::vector<double> shares;
  constexpr int reach = 2;
  constexpr double run = 2.0 * reach * two_pi / angles;
  for (int row = 0; row < rows_; ++row) {
    int seen = 0, round = 0;
    for (int angle = 0; angle < angles; ++angle) {
      const std::size_t at = slot(row, angle);
      if (seen_[at] == 0) continue;
      ++seen;
      const double rise = out_[slot(row, angle + reach)] - out_[slot(row, angle - reach)];
      if (std::abs(rise) < 0.25 * run * out_[at]) ++round;
    }
    if (seen > 3) shares.push_back(static_cast<double>(round) / seen);
  }
  return shares.empty() ? 0.0 : take_quantile(shares);
}

}  // namespace kerfwright
