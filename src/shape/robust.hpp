#pragma once

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <vector>

namespace kerfwright {

/// The value below which `share` of the values lie; 0 for none. Takes a copy because it reorders.
template <typename Number>
Number quantile(std::vector<Number> values, double share) {
  if (values.empty()) return Number{0};
  const auto last = static_cast<double>(values.size() - 1);
  const auto place = static_cast<std::ptrdiff_t>(std::lround(share * last));
  std::nth_element(values.begin(), values.begin() + place, values.end());
  return values[static_cast<std::size_t>(place)];
}

template <typename Number>
Number median(std::vector<Number> values) {
  return quantile(std::move(values), 0.5);
}

/// Tukey's biweight (Beaton and Tukey, Technometrics 16, 1974): 1 at 0, falling to 0 at `limit`.
inline double tukey_weight(double residual, double limit) {
  const double share = residual / limit;
  const double rest = 1.0 - share * share;
  return rest > 0.0 ? rest * rest : 0.0;
}

/// Turns a median absolute deviation into a standard deviation of a normal distribution.
inline constexpr double sigma_of_mad = 1.4826;
/// Tukey's limit in standard deviations for 95 % efficiency under a normal distribution.
inline constexpr double tukey_limit = 4.685;

}  // namespace kerfwright
