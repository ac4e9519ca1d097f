#include "kerfwright/shape/bark.hpp"

#include <algorithm>
#include <cmath>
#include <numeric>

#include "kerfwright/trade/species.hpp"

namespace kerfwright {
namespace {

double rounded(double value) { return std::round(value * 100.0) / 100.0; }

double mean_radius(const LogShape& shape, std::size_t i) {
  const auto& radii = shape.radius[i];
  return std::accumulate(radii.begin(), radii.end(), 0.0) / static_cast<double>(radii.size());
}

/// Mean along the log: between stations bark runs linearly.
double mean_bark(const LogShape& shape) {
  double sum = 0;
  for (std::size_t i = 1; i < shape.stations.size(); ++i) {
    sum += 0.5 * (shape.bark_at_station[i - 1] + shape.bark_at_station[i]) *
           (shape.stations[i] - shape.stations[i - 1]);
  }
  return sum / shape.length();
}

}  // namespace

BarkRule bark_rule(const Species& species) {
  if (!species.bark_model) return {0.0, 1.0 - species.bark_ratio.value, 0.0};
  // Double thickness in mm by diameter in cm: half of it by radius in mm.
  const BarkModel& model = *species.bark_model;
  return {model.a / 2.0, model.b / 10.0, model.c / 50.0};
}

double bark_thickness(const BarkRule& rule, double radius) {
  const double thickness = rule.constant + rule.linear * radius + rule.square * radius * radius;
  return std::clamp(thickness, 0.0, std::max(0.0, radius));
}

void put_bark(LogShape& shape, const BarkRule& rule) {
  shape.bark_at_station.clear();
  shape.bark = rule.constant;
  if (!rule.varies()) return;
  for (std::size_t i = 0; i < shape.stations.size(); ++i) {
    shape.bark_at_station.push_back(rounded(bark_thickness(rule, mean_radius(shape, i))));
  }
  shape.bark = rounded(mean_bark(shape));
}

}  // namespace kerfwright
