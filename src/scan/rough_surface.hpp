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
  void fit(const Unwrapped& near, const std::vector<unsigned char>& foreign, double along,
           double band = 0.14);
  double out(double along, double angle) const;
  /// One standard deviation of the points about the surface, in radii.
  double noise() const { return noise_; }
  /// Share of the girth that was seen, mean over the length.
  double girth() const;
  /// Share of the seen girth whose normal is within 14 degrees of the way out from the axis, median
  /// over the length: near 1 for a log, 0.3 for a square beam.
  double roundness() const;

 private:
  static constexpr int angles = 36;
  std::size_t slot(int row, int angle) const {
    return static_cast<std::size_t>(row * angles + (angle + angles) % angles);
  }
  struct Columns;
  Columns sort_in(const Unwrapped& near, const std::vector<unsigned char>& foreign) const;
  void measure_noise(const Unwrapped& near);
  void solve(const std::vector<double>& seen, const std::vector<double>& weight, double round,
             double along);

  double first_, step_;
  int rows_;
  std::vector<double> out_;
  std::vector<unsigned char> seen_;  ///< per column: points were found on the surface
  double noise_ = 0.0;
};

}  // namespace kerfwright
