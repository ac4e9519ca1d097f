#include "wood.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "kerfwright/shape/mark_geometry.hpp"
#include "kerfwright/shape/section.hpp"
#include "worth.hpp"

namespace kerfwright::saw {

double Wood::reach() const {
  double most = 0.0;
  for (std::size_t i = 0; i < y.size(); ++i) {
    most = std::max(most, std::hypot(static_cast<double>(y[i]), static_cast<double>(z[i])));
  }
  return most;
}

Wood wood_of(const LogShape& shape, double margin_sigmas, double inset) {
  Wood wood;
  wood.station_x = shape.stations;
  wood.angles = shape.angles;
  wood.marks = std::make_shared<const WoodMarks>(shape);
  const std::size_t angles = static_cast<std::size_t>(shape.angles);
  for (std::size_t i = 0; i < shape.stations.size(); ++i) {
    for (std::size_t j = 0; j < angles; ++j) {
      const double angle = 2.0 * std::numbers::pi * static_cast<double>(j) / shape.angles;
      const double off =
          bark_at(shape, i) + margin_sigmas * static_cast<double>(shape.sigma[i][j]) + inset;
      const double radius = std::max(0.0, static_cast<double>(shape.radius[i][j]) - off);
      wood.y.push_back(static_cast<float>(shape.axis[i].x() + radius * std::cos(angle)));
      wood.z.push_back(static_cast<float>(shape.axis[i].y() + radius * std::sin(angle)));
      const auto over_bark = static_cast<double>(shape.radius[i][j]);
      wood.bark_y.push_back(static_cast<float>(shape.axis[i].x() + over_bark * std::cos(angle)));
      wood.bark_z.push_back(static_cast<float>(shape.axis[i].y() + over_bark * std::sin(angle)));
      wood.reach_over_bark =
          std::max(wood.reach_over_bark, std::hypot(static_cast<double>(wood.bark_y.back()),
                                                    static_cast<double>(wood.bark_z.back())));
    }
  }
  const int gaps = static_cast<int>(shape.stations.size()) - 1;
  const int gaps_per_cell = (gaps + max_cells - 1) / max_cells;
  for (int i = 0; i < gaps; i += gaps_per_cell) wood.border_station.push_back(i);
  wood.border_station.push_back(gaps);
  const PithLine pith(shape);
  for (const int i : wood.border_station) {
    wood.border.push_back(shape.stations[static_cast<std::size_t>(i)]);
    wood.pith.push_back(pith.at(wood.border.back()));
  }
  return wood;
}

}  // namespace kerfwright::saw
