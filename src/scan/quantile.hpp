#pragma once

#include <algorithm>
#include <vector>

namespace kerfwright {

/// The value below which `share` of the values lie (0.5: the median); reorders them. At least one
/// value.
inline double take_quantile(std::vector<double>& values, double share = 0.5) {
  const auto last = static_cast<double>(values.size() - 1);
  const auto at = values.begin() + static_cast<std::ptrdiff_t>(share * last + 0.5);
  std::nth_element(values.begin(), at, values.end());
  return *at;
}

}  // namespace kerfwright
