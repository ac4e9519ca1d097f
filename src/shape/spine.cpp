#include "spine.hpp"

#include <Eigen/Dense>
#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>

#include "circle_fit.hpp"
#include "robust.hpp"
#include "scan/rounding.hpp"

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

Slice stretched(const Slice& slice, const Eigen::Matrix2d& rounding) {
  Slice round;
  round.reserve(slice.size());
  for (const Eigen::Vector2d& p : slice) round.push_back(rounding * p);
  return round;
}

struct Roundness {
  double off = 0;     ///< mm from circles, of four fifths of the points: half of them, by which a
                      ///< circle is chosen, may lie on the flat of an oval
  double radius = 0;  ///< mm
  double girth = 0;   ///< share of it with points
};

double girth_of(const Slice& slice, const Eigen::Vector2d& centre) {
  constexpr int sectors = 24;
  std::array<bool, sectors> hit{};
  for (const Eigen::Vector2d& p : slice) {
    const double turns =
        std::atan2(p.y() - centre.y(), p.x() - centre.x()) / (2.0 * std::numbers::pi) + 0.5;
    hit[static_cast<std::size_t>(std::min(sectors - 1, static_cast<int>(turns * sectors)))] = true;
  }
  return static_cast<double>(std::count(hit.begin(), hit.end(), true)) / sectors;
}

/// The medians over the slices.
Roundness roundness_of(const std::vector<Slice>& slices, const Eigen::Matrix2d& rounding,
                       double largest) {
  std::vector<double> offs, radii, girths;
  for (const Slice& slice : slices) {
    const Slice round = stretched(slice, rounding);
    const auto circle = fit_circle(round, largest);
    if (!circle) continue;
    std::vector<double> off;
    for (const Eigen::Vector2d& p : round)
      off.push_back(std::abs((p - circle->centre).norm() - circle->radius));
    offs.push_back(quantile(std::move(off), 0.8));
    radii.push_back(circle->radius);
    girths.push_back(girth_of(round, circle->centre));
  }
  if (offs.empty()) return {largest, largest, 0.0};
  return {median(std::move(offs)), median(std::move(radii)), median(std::move(girths))};
}

/// mm from the middles of the slices to their points, median.
double size_of(const std::vector<Slice>& slices) {
  std::vector<double> distances;
  for (const Slice& slice : slices) {
    Eigen::Vector2d middle = Eigen::Vector2d::Zero();
    for (const Eigen::Vector2d& p : slice) middle += p / static_cast<double>(slice.size());
    for (const Eigen::Vector2d& p : slice) distances.push_back((p - middle).norm());
  }
  return median(std::move(distances));
}

/// What makes the slices round: nothing where they are, or where no ellipse does much better.
Eigen::Matrix2d rounding_for(const std::vector<Slice>& slices, double largest) {
  constexpr std::size_t looked_at = 7, enough_points = 150;
  constexpr double round_enough = 0.08, much_better = 0.6, far_too_large = 2.2;
  constexpr int turns = 18;
  constexpr double narrowest = 2.8, ratio_step = 1.15;
  std::vector<Slice> some;
  for (std::size_t i = 0; i < looked_at; ++i) {
    const Slice& slice = slices[(2 * i + 1) * slices.size() / (2 * looked_at)];
    if (slice.size() < 10) continue;
    Slice thin;
    for (std::size_t k = 0; k < slice.size(); k += slice.size() / enough_points + 1)
      thin.push_back(slice[k]);
    some.push_back(std::move(thin));
  }
  Eigen::Matrix2d best = Eigen::Matrix2d::Identity();
  const double size = size_of(some);
  const Roundness round = roundness_of(some, best, largest);
  // What is much larger than all that is seen of it was laid through the flat of an oval alone.
  const bool mere_arc = round.radius > far_too_large * size;
  if (round.off < round_enough * size && !mere_arc) return best;
  const auto cost = [&](const Roundness& r) {
    return mere_arc ? r.off / std::max(0.05, r.girth) : r.off;
  };
  double least = much_better * cost(round);
  for (int turn = 0; turn < turns; ++turn)
    for (double ratio = 1.3; ratio < narrowest; ratio *= ratio_step) {
      const Eigen::Matrix2d rounding = rounding_of(turn * std::numbers::pi / turns, ratio);
      const double left = cost(roundness_of(some, rounding, largest));
      if (left >= least) continue;
      least = left;
      best = rounding;
    }
  return best;
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
  const Eigen::Matrix2d rounding = rounding_for(slices, 1.5 * widest);
  const Eigen::Matrix2d back = rounding.inverse();
  std::vector<Section> sections;
  for (std::size_t i = 0; i < count; ++i) {
    if (slices[i].size() < 10) continue;
    const auto circle = fit_circle(stretched(slices[i], rounding), 1.5 * widest);
    if (!circle) continue;
    const double x = from + (static_cast<double>(i) + 0.5) * thickness;
    Section section{x, before(x)};
    section.form.head<2>() += (back * circle->centre).transpose();
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
