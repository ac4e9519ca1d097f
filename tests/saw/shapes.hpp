#pragma once

#include <cmath>
#include <string>
#include <utility>
#include <vector>

#include "kerfwright/saw/plan_log.hpp"

namespace kerfwright::shapes {

/// A log of round sections that tapers straight and bows to one side (+y), mm, without bark and
/// known exactly.
inline LogShape bowed(double length, double butt_radius, double top_radius, double sweep) {
  LogShape shape;
  shape.angles = 64;
  const int gaps = std::max(1, static_cast<int>(std::lround(length / 50)));
  for (int i = 0; i <= gaps; ++i) {
    const double share = static_cast<double>(i) / gaps;
    shape.stations.push_back(length * share);
    shape.axis.emplace_back(4.0 * sweep * share * (1.0 - share), 0.0);
    const auto radius = static_cast<float>(butt_radius + (top_radius - butt_radius) * share);
    shape.radius.emplace_back(64, radius);
    shape.sigma.emplace_back(64, 0.0F);
    shape.seen.emplace_back(64, static_cast<unsigned char>(1));
  }
  return shape;
}

inline Product product(const std::string& name, double thickness, double width,
                       std::vector<double> lengths, double price_per_m3) {
  Product made;
  made.name = name;
  made.thickness = thickness;
  made.width = width;
  made.lengths = std::move(lengths);
  made.price_per_m3 = price_per_m3;
  return made;
}

/// Boards of one thickness in widths from `narrowest` to `widest` by `step`, paid by volume.
inline Order boards(double thickness, std::vector<double> lengths, double narrowest = 100,
                    double widest = 200, double step = 25) {
  Order order;
  for (double width = narrowest; width <= widest + 1e-9; width += step) {
    order.products.push_back(
        product("board " + std::to_string(std::lround(width)), thickness, width, lengths, 500));
  }
  return order;
}

inline PlanSettings quick() {
  PlanSettings settings;
  settings.turn_step = 15;
  settings.lifts = 3;
  return settings;
}

}  // namespace kerfwright::shapes
