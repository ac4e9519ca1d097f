#pragma once

#include <Eigen/Core>
#include <algorithm>
#include <array>
#include <cmath>
#include <vector>

namespace kerfwright {

/// The four cubic B-splines that are not zero at some x: coefficients `first` to `first` + 3.
struct SplineSupport {
  int first = 0;
  std::array<double, 4> weight{};
};

/// Uniform cubic B-splines (de Boor, A Practical Guide to Splines, 1978): `intervals` pieces of
/// `step` mm from `start`; x outside is taken to the nearer end.
struct EvenSpline {
  double start = 0, step = 1;
  int intervals = 1;

  int size() const { return intervals + 3; }
  double end() const { return start + step * intervals; }

  SplineSupport at(double x) const {
    const double position = std::clamp((x - start) / step, 0.0, static_cast<double>(intervals));
    const int first = std::min(static_cast<int>(position), intervals - 1);
    const double t = position - first, s = 1.0 - t;
    return {first,
            {s * s * s / 6.0, (3.0 * t * t * t - 6.0 * t * t + 4.0) / 6.0,
             (3.0 * s * s * s - 6.0 * s * s + 4.0) / 6.0, t * t * t / 6.0}};
  }
};

/// Pieces of about `wished_step` mm, at least `fewest` of them.
inline EvenSpline even_spline(double from, double to, double wished_step, int fewest) {
  const int intervals = std::max(fewest, static_cast<int>(std::ceil((to - from) / wished_step)));
  return {from, (to - from) / intervals, intervals};
}

/// A curve of `Columns` values over x, e.g. the centre (y, z) of the sections of a log.
template <int Columns>
struct SplineCurve {
  EvenSpline basis;
  Eigen::Matrix<double, Eigen::Dynamic, Columns> coefficients;

  Eigen::Matrix<double, 1, Columns> operator()(double x) const {
    const SplineSupport support = basis.at(x);
    Eigen::Matrix<double, 1, Columns> value = Eigen::Matrix<double, 1, Columns>::Zero();
    for (int a = 0; a < 4; ++a) {
      value += support.weight[static_cast<std::size_t>(a)] * coefficients.row(support.first + a);
    }
    return value;
  }
};

}  // namespace kerfwright
