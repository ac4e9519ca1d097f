#include "spine.hpp"

#include <Eigen/Dense>
#include <algorithm>
#include <cmath>

#include "circle_fit.hpp"
#include "robust.hpp"

namespace kerfwright {
namespace {

using Slice = std::vector<Eigen::Vector2d>;

/// Penalised least squares: weight times squared misfit plus `stiffness` times squared second
/// differences.
Eigen::MatrixX3d solve_spline(const std::vector<Section>& sections,
                              const std::vector<double>& weights, const EvenSpline& basis,
                              double stiffness) {
  const int n = basis.size();
  Eigen::MatrixXd normal = 1e-9 * Eigen::MatrixXd::Identity(n, n);
  Eigen::MatrixX3d right = Eigen::MatrixX3d::Zero(n, 3);
  const Eigen::Vector3d difference(1, -2, 1);
  for (int i = 0; i + 2 < n; ++i) {
    normal.block<3, 3>(i, i) += stiffness * difference * difference.transpose();
  }
  for (std::size_t i = 0; i < sections.size(); ++i) {
    const SplineSupport support = basis.at(sections[i].x);
    const Eigen::Map<const Eigen::Vector4d> w(support.weight.data());
    normal.block<4, 4>(support.first, support.first) += weights[i] * w * w.transpose();
    right.middleRows<4>(support.first) += weights[i] * w * sections[i].form;
  }
  return normal.ldlt().solve(right);
}

}  // namespace

std::vector<Section> slice_circles(const Cloud& points, const Spine& before, double from,
                                   double to) {
  const double wished = std::clamp((to - from) / 40.0, 30.0, 80.0);
  const auto count = static_cast<std::size_t>(std::max(3.0, std::floor((to - from) / wished)));
  const double thickness = (to - from) / static_cast<double>(count);
  std::vector<Slice> slices(count);
  double widest = 0;
  for (const auto& p : points) {
    if (p.x() < from || p.x() >= to) continue;
    const auto slice = static_cast<std::size_t>((p.x() - from) / thickness);
    const Eigen::Vector2d offset = p.tail<2>() - before(p.x()).head<2>().transpose();
    slices[std::min(slice, count - 1)].push_back(offset);
    widest = std::max(widest, offset.norm());
  }
  std::vector<Section> sections;
  for (std::size_t i = 0; i < count; ++i) {
    if (slices[i].size() < 10) continue;
    const auto circle = fit_circle(slices[i], 1.5 * widest);
    if (!circle) continue;
    const double x = from + (static_cast<double>(i) + 0.5) * thickness;
    Section section{x, before(x)};
    section.form.head<2>() += circle->centre.transpose();
    section.form[2] = circle->radius;
    sections.push_back(section);
  }
  return sections;
}

Spine smooth_through(const std::vector<Section>& sections, const EvenSpline& basis) {
  Spine spine{basis, {}};
  std::vector<double> weights;
  for (const Section& s : sections) weights.push_back(s.weight);
  for (int round = 0; round < 8; ++round) {
    spine.coefficients = solve_spline(sections, weights, basis, round < 3 ? 1.0 : 0.2);
    std::vector<double> misfit;
    for (const auto& s : sections) misfit.push_back((s.form - spine(s.x)).norm());
    // Huber's weights: a few wrong circles pull little, and a whole stretch of the log is never let
    // go of, beyond which the spline would run off.
    const double usual = std::max(4.0, 2.0 * median(misfit));
    for (std::size_t i = 0; i < sections.size(); ++i) {
      weights[i] = sections[i].weight * usual / std::max(usual, misfit[i]);
    }
  }
  return spine;
}

Spine resample(const std::vector<Section>& samples, const EvenSpline& basis) {
  return {basis, solve_spline(samples, std::vector<double>(samples.size(), 1.0), basis, 1e-6)};
}

Spine stiffened(const Spine& spine) {
  const double from = spine.basis.start, length = spine.basis.end() - from;
  std::vector<Section> samples;
  for (int i = 0; i <= 100; ++i) {
    const double x = from + length * i / 100.0;
    samples.push_back({x, spine(x)});
  }
  Spine stiff = spine;
  for (int pieces = std::max(1, static_cast<int>(std::lround(length / 2500.0)));
       pieces < spine.basis.intervals; ++pieces) {
    stiff = resample(samples, {from, length / pieces, pieces});
    double off = 0;
    for (const Section& s : samples) {
      off = std::max(off, (stiff(s.x) - s.form).head<2>().norm() / std::max(1.0, s.form[2]));
    }
    if (off < 0.35) return stiff;
  }
  return spine;
}

Spine moved(const Spine& spine, const Eigen::Isometry3d& move) {
  const int count = 20 * spine.basis.intervals;
  std::vector<Section> samples;
  for (int i = 0; i <= count; ++i) {
    const double x = spine.basis.start + (spine.basis.end() - spine.basis.start) * i / count;
    const Eigen::Vector3d centre = move * on_spine(spine, x);
    samples.push_back({centre.x(), {centre.y(), centre.z(), spine(x)[2]}});
  }
  const auto order = [](const Section& a, const Section& b) { return a.x < b.x; };
  std::sort(samples.begin(), samples.end(), order);
  const double from = samples.front().x, to = samples.back().x;
  const EvenSpline basis{from, (to - from) / spine.basis.intervals, spine.basis.intervals};
  return resample(samples, basis);
}

Eigen::Vector3d on_spine(const Spine& spine, double x) {
  const auto section = spine(x);
  return {x, section[0], section[1]};
}

}  // namespace kerfwright
