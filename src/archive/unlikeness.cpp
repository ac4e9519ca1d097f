#include <algorithm>
#include <cmath>
#include <limits>
#include <numbers>
#include <vector>

#include "kerfwright/archive/sketch.hpp"

namespace kerfwright {
namespace {

constexpr double unsampled = 1.5;      // mm, what two sketches of one log miss of each other
constexpr double length_apart = 0.02;  // share
constexpr double hopeless = 3.0;  // of the sections' mean radii, in the same unit as the result
// The fifth of the surface where they are farthest apart does not count: what one scan did not see
// may have been inferred wrongly. The mean square of what is left, for normal errors of size 1, is
// 1 - 2 a phi(a) / 0.8 with a = 1.2816, the limit of the middle four fifths.
constexpr double counts = 0.8, of_normal = 0.4378;
constexpr double never = std::numeric_limits<double>::infinity();

/// The other log's surface, to be asked at any place along it and in any direction.
class Surface {
 public:
  explicit Surface(const Sketch& sketch) : sketch_(sketch) {}

  /// Squared distance of a point from the surface along the ray from the axis, over its variance.
  double miss(double place, double y, double z, double variance) const {
    const double at = std::clamp(place, 0.0, 1.0) * (sketch_.stations - 1);
    const auto low = std::min(static_cast<std::size_t>(at), sketch_.axis_y.size() - 2);
    const double share = at - static_cast<double>(low);
    const double off_y = y - between(sketch_.axis_y, low, 1, share);
    const double off_z = z - between(sketch_.axis_z, low, 1, share);
    const auto angles = static_cast<std::size_t>(sketch_.angles);
    const double turn = std::atan2(off_z, off_y) / (2.0 * std::numbers::pi);
    const double sample = (turn < 0.0 ? turn + 1.0 : turn) * sketch_.angles;
    const std::size_t j = static_cast<std::size_t>(sample) % angles;
    const std::size_t next = (j + 1) % angles;
    const double part = sample - std::floor(sample);
    const auto around = [&](const std::vector<float>& values) {
      return (1.0 - part) * between(values, low * angles + j, angles, share) +
             part * between(values, low * angles + next, angles, share);
    };
    const double apart = std::hypot(off_y, off_z) - around(sketch_.radius);
    const double sigma = around(sketch_.sigma);
    return apart * apart / (variance + sigma * sigma + unsampled * unsampled);
  }

 private:
  static double between(const std::vector<float>& values, std::size_t at, std::size_t step,
                        double share) {
    return (1.0 - share) * values[at] + share * values[at + step];
  }
  const Sketch& sketch_;
};

/// How unlike they are with `one` turned by `turn` radians, and end for end where `reversed`.
double unlike_at(const Sketch& one, const Surface& other, double turn, bool reversed) {
  const double c = std::cos(turn), s = std::sin(turn);
  const auto angles = static_cast<std::size_t>(one.angles);
  std::vector<double> misses;
  misses.reserve(one.radius.size());
  for (std::size_t i = 0; i < one.axis_y.size(); ++i) {
    const double along = static_cast<double>(i) / (one.stations - 1);
    for (std::size_t j = 0; j < angles; ++j) {
      const double angle = 2.0 * std::numbers::pi * static_cast<double>(j) / one.angles;
      const double radius = one.radius[i * angles + j];
      // End for end is half a turn about the upright z.
      const double side = one.axis_y[i] + radius * std::cos(angle);
      const double y = reversed ? -side : side;
      const double z = one.axis_z[i] + radius * std::sin(angle);
      const double sigma = one.sigma[i * angles + j];
      misses.push_back(
          other.miss(reversed ? 1.0 - along : along, c * y - s * z, s * y + c * z, sigma * sigma));
    }
  }
  const auto counted = static_cast<std::ptrdiff_t>(counts * static_cast<double>(misses.size()));
  std::nth_element(misses.begin(), misses.begin() + counted, misses.end());
  double sum = 0;
  for (std::ptrdiff_t k = 0; k < counted; ++k) sum += misses[static_cast<std::size_t>(k)];
  return std::sqrt(sum / (static_cast<double>(counted) * of_normal));
}

/// Unlikeness by the sections' mean radii alone, which no turn changes.
double unlike_girths(const Sketch& one, const Sketch& other, bool reversed) {
  const auto mean = [](const Sketch& sketch, const std::vector<float>& values, double place) {
    const auto angles = static_cast<std::size_t>(sketch.angles);
    const auto i = static_cast<std::size_t>(std::lround(place * (sketch.stations - 1)));
    double sum = 0;
    for (std::size_t j = 0; j < angles; ++j) sum += values[i * angles + j];
    return sum / static_cast<double>(angles);
  };
  double sum = 0;
  constexpr int places = 12;
  for (int k = 0; k < places; ++k) {
    const double along = (k + 0.5) / places, there = reversed ? 1.0 - along : along;
    const double apart = mean(one, one.radius, along) - mean(other, other.radius, there);
    const double sigma = std::hypot(mean(one, one.sigma, along), mean(other, other.sigma, there));
    sum += apart * apart / (sigma * sigma + unsampled * unsampled);
  }
  return std::sqrt(sum / places);
}

}  // namespace

double unlikeness(const Sketch& one, const Sketch& other) {
  if (std::abs(one.length - other.length) > length_apart * std::max(one.length, other.length))
    return never;
  const Surface surface(other);
  const int turns = 2 * one.angles;
  double step = 2.0 * std::numbers::pi / turns;
  double best = never, best_turn = 0;
  bool best_reversed = false;
  for (const bool reversed : {false, true}) {
    if (unlike_girths(one, other, reversed) > hopeless) continue;
    for (int k = 0; k < turns; ++k) {
      const double unlike = unlike_at(one, surface, k * step, reversed);
      if (unlike >= best) continue;
      best = unlike;
      best_turn = k * step;
      best_reversed = reversed;
    }
  }
  if (best == never) return never;
  for (int round = 0; round < 6; ++round) {
    step *= 0.5;
    const double centre = best_turn;
    for (const double turn : {centre - step, centre + step}) {
      const double unlike = unlike_at(one, surface, turn, best_reversed);
      if (unlike >= best) continue;
      best = unlike;
      best_turn = turn;
    }
  }
  return best;
}

}  // namespace kerfwright
