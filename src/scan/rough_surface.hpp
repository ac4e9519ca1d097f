#pragma once

#include <vector>

#include "log_frame.hpp"

namespace kerfwright {

/// The log's own surface, smooth, without burls and stubs: out(along, angle), in radii of the rough
/// axis.
class RoughSurface {
 public:
  RoughSurface(double first, double last, double step);

  /// Fits to the points; where there are none the surface is carried on from around. A point that
  /// stands out far counts little. `foreign` marks points that are left out (may be empty).
  void fit(const Unwrapped& near, const std::vector<unsigned char>& foreign, double along);
  double out(double along, double angle) const;
  /// One standard deviation of the points about the surface, in radii.
  double noise() const { return noise_; }
  /// Share of the girth that was seen, mean over the length.
  double girth() const { return girth_; }

 private:
  static constexpr int angles = 36;
  std::size_t slot(int row, int angle) const {
    return static_cast<std::size_t>(row * angles + (angle + angles) % angles);
  }
  void solve(const std::vector<double>& seen, const std::vector<double>& weight, double round,
             double along);

  double first_, step_;
  int rows_;
  std::vector<double> out_;
  double noise_ = 0.0, girth_ = 0.0;
};

}  // namespace kerfwright
