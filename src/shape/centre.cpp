#include "centre.hpp"

#include <Eigen/Dense>
#include <algorithm>
#include <cmath>
#include <numbers>

#include "robust.hpp"

namespace kerfwright {
namespace {

using Oval = Eigen::Matrix<double, 5, 1>;  ///< 1, cos, sin, cos 2, sin 2

Oval oval_at(double angle) {
  Oval values;
  values << 1.0, std::cos(angle), std::sin(angle), std::cos(2.0 * angle), std::sin(2.0 * angle);
  return values;
}

/// The chord runs through the centres of the ends: those sections count more than what lies
/// between.
constexpr double end_reach = 60.0, end_weight = 10.0;

}  // namespace

Eigen::Vector2d stem_centre(const Eigen::VectorXd& radii) {
  const auto n = static_cast<std::size_t>(radii.size());
  std::vector<Oval> functions;
  for (std::size_t j = 0; j < n; ++j) {
    functions.push_back(
        oval_at(2.0 * std::numbers::pi * static_cast<double>(j) / static_cast<double>(n)));
  }
  Oval oval = Oval::Zero();
  oval[0] = radii.mean();
  std::vector<double> misfit(n);
  for (int round = 0; round < 15; ++round) {
    std::vector<double> sizes;
    for (std::size_t j = 0; j < n; ++j) {
      misfit[j] = radii[static_cast<Eigen::Index>(j)] - functions[j].dot(oval);
      sizes.push_back(std::abs(misfit[j]));
    }
    const double limit = std::max(0.1 * std::abs(oval[0]), 3.5 * median(std::move(sizes)));
    Eigen::Matrix<double, 5, 5> normal = Eigen::Matrix<double, 5, 5>::Zero();
    normal.diagonal() << 0, 0, 0, 1, 1;  // ovality only where the outline insists
    Oval right = Oval::Zero();
    for (std::size_t j = 0; j < n; ++j) {
      const double weight = tukey_weight(misfit[j], limit);
      normal += weight * functions[j] * functions[j].transpose();
      right += weight * radii[static_cast<Eigen::Index>(j)] * functions[j];
    }
    oval = normal.ldlt().solve(right);
  }
  return {oval[1], oval[2]};
}

void recentre(Placement& placement, const FittedSurface& surface) {
  const int count = std::max(10, static_cast<int>(placement.length / 20.0));
  std::vector<Section> sections(static_cast<std::size_t>(count) + 1);
#pragma omp parallel for schedule(static)
  for (int i = 0; i <= count; ++i) {
    const double x = placement.length * i / count;
    const Eigen::VectorXd radii = section_radii(surface.form, x, 128);
    Section section{x, placement.spine(x)};
    section.form.head<2>() += stem_centre(radii).transpose();
    section.form[2] = radii.mean();
    if (std::min(x, placement.length - x) < end_reach) section.weight = end_weight;
    sections[static_cast<std::size_t>(i)] = section;
  }
  const Spine before = placement.spine;
  placement.spine = smooth_through(sections, even_spline(before.basis.start, before.basis.end(),
                                                         spine_step(placement.length), 3));
}

double farthest_apart(const Spine& a, const Spine& b) {
  double most = 0;
  for (int i = 0; i <= 40; ++i) {
    const double x = a.basis.start + (a.basis.end() - a.basis.start) * i / 40.0;
    most = std::max(most, (a(x) - b(x)).head<2>().norm());
  }
  return most;
}

}  // namespace kerfwright
