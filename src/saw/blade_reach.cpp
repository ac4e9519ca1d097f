#include "blade_reach.hpp"

#include <algorithm>
#include <cmath>

#include "frame.hpp"

namespace kerfwright::saw {
namespace {

constexpr double hair = 0.02;  // mm, for what the outlines are rounded to

/// Heights of what carries the log, mm.
struct Span {
  double lowest = 1e9, highest = -1e9;
};

Span span_at_bunks(const Wood& wood, const Catalogue& catalogue, const Pose& pose,
                   const std::optional<CantClip>& clip) {
  const Frame frame(pose);
  const auto angles = static_cast<std::size_t>(wood.angles);
  Span span;
  for (const double bunk : catalogue.bunks) {
    const double x = std::clamp(bunk, 0.0, wood.length());
    const auto after = std::upper_bound(wood.station_x.begin() + 1, wood.station_x.end() - 1, x);
    const auto i = static_cast<std::size_t>(after - wood.station_x.begin());
    const double share = (x - wood.station_x[i - 1]) / (wood.station_x[i] - wood.station_x[i - 1]);
    const auto at = [&](const std::vector<float>& side, std::size_t j) {
      return (1.0 - share) * static_cast<double>(side[(i - 1) * angles + j]) +
             share * static_cast<double>(side[i * angles + j]);
    };
    for (std::size_t j = 0; j < angles; ++j) {
      const Eigen::Vector3d point(x, at(wood.bark_y, j), at(wood.bark_z, j));
      if (clip) {
        const double lateral = units_per_mm * (frame.across.dot(point) - clip->lean * x);
        if (lateral < clip->left - clip->slack || lateral > clip->right + clip->slack) continue;
      }
      const double height = frame.up.dot(point);
      span.lowest = std::min(span.lowest, height);
      span.highest = std::max(span.highest, height);
    }
  }
  return span;
}

}  // namespace

BladeReach blade_reach(const Wood& wood, const Catalogue& catalogue, const Pose& pose,
                       const std::optional<CantClip>& clip) {
  if (catalogue.turn_cost <= 0.0) return {};
  const Span span = span_at_bunks(wood, catalogue, pose, clip);
  if (span.lowest > span.highest) return {};
  const HeightGrid& grid = catalogue.grid;
  const double least = span.lowest + catalogue.lowest_cut + catalogue.kerf + hair;
  const double most = span.highest - catalogue.lowest_cut - hair;
  return {static_cast<int>(std::ceil((least - grid.origin) / grid.step)),
          static_cast<int>(std::floor((most - grid.origin) / grid.step)), catalogue.turn_cost};
}

}  // namespace kerfwright::saw
