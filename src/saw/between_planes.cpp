#include "between_planes.hpp"

#include <algorithm>
#include <cmath>

#include "flitch_worths.hpp"
#include "frame.hpp"
#include "lane_marks.hpp"
#include "level_lines.hpp"

namespace kerfwright::saw {
namespace {

constexpr Unit beyond = 32000;  // units, where nothing bounds a lane

Unit in_units(double mm, bool up) {
  const double units = std::clamp(mm * units_per_mm, -32000.0, 32000.0);
  return static_cast<Unit>(up ? std::ceil(units) : std::floor(units));
}

/// Rows of one flitch, from its whole thickness to what its largest wane leaves.
struct Rows {
  FlitchWood* flitch;
  std::size_t count;
  Interval& at(std::size_t k) const { return k == 0 ? flitch->outer : flitch->inner[k - 1]; }
};

void open_rows(Interval& rows, int cells) {
  for (int c = 0; c < max_cells; ++c) {
    const auto i = static_cast<std::size_t>(c);
    rows.left.at[i] = c < cells ? static_cast<Unit>(-beyond) : beyond;
    rows.right.at[i] = c < cells ? beyond : static_cast<Unit>(-beyond);
  }
}

void narrow(Interval& rows, std::size_t cell, Unit left, Unit right) {
  rows.left.at[cell] = std::max(rows.left.at[cell], left);
  rows.right.at[cell] = std::min(rows.right.at[cell], right);
}

/// Between sawn faces.
void narrow_to_faces(Interval& rows, const FlitchPlanes& flitch) {
  const Unit left = flitch.left ? in_units(*flitch.left - 0.05, true) : static_cast<Unit>(-beyond);
  const Unit right = flitch.right ? in_units(*flitch.right + 0.05, false) : beyond;
  for (std::size_t c = 0; c < max_cells; ++c) narrow(rows, c, left, right);
}

/// Calls visit(station, first cell, last cell) for each station with the cells that it bounds.
template <typename Visit>
void for_stations(const Wood& wood, Visit visit) {
  std::size_t cell = 0;
  const std::size_t cells = wood.border_station.size() - 1;
  for (std::size_t i = 0; i < wood.station_x.size(); ++i) {
    while (cell + 1 < cells && static_cast<std::size_t>(wood.border_station[cell + 1]) < i) ++cell;
    const bool on_border = static_cast<std::size_t>(wood.border_station[cell + 1]) == i;
    visit(i, cell, on_border && cell + 1 < cells ? cell + 1 : cell);
  }
}

/// Where the lateral grid starts: at a sawn face, so that a lane can begin or end there; else where
/// the wood is clear from end to end.
int zero_of(const FlitchPlanes& flitch, const Interval& outer, int cells, double kerf) {
  if (flitch.left) return in_units(*flitch.left - 0.05, true);
  if (flitch.right) {
    return in_units(*flitch.right + 0.05, false) +
           static_cast<int>(std::lround(kerf * units_per_mm));
  }
  const auto end = outer.left.at.begin() + cells;
  const Unit clear = *std::max_element(outer.left.at.begin(), end);
  return clear < beyond ? clear : 0;
}

}  // namespace

std::vector<FlitchWood> woods_between(const LogShape& shape, const DrawnWood& drawn,
                                      const Wood& wood, const Catalogue& catalogue,
                                      const std::vector<FlitchPlanes>& flitches,
                                      const std::vector<const FlitchClass*>& classes) {
  std::vector<FlitchWood> woods(flitches.size());
  std::vector<Rows> rows;
  std::vector<LevelLines::Between> asked;
  for (std::size_t f = 0; f < flitches.size(); ++f) {
    rows.push_back({&woods[f], 1 + classes[f]->wanes.size()});
    for (std::size_t k = 0; k < rows[f].count; ++k) {
      open_rows(rows[f].at(k), wood.cells());
      asked.push_back({2 * asked.size(), 2 * asked.size() + 1});
    }
  }
  if (flitches.empty()) return woods;
  const auto angles = static_cast<std::size_t>(shape.angles);
  const auto c = static_cast<float>(std::cos(flitches.front().pose.roll));
  const auto s = static_cast<float>(std::sin(flitches.front().pose.roll));
  std::vector<float> lateral(angles), aloft(angles);
  std::vector<double> heights(2 * asked.size());
  std::vector<Stretch> found;
  LevelLines lines;
  for_stations(wood, [&](std::size_t station, std::size_t first, std::size_t last) {
    const double x = wood.station_x[station];
    const float* y = drawn.y.data() + station * angles;
    const float* z = drawn.z.data() + station * angles;
    for (std::size_t j = 0; j < angles; ++j) {
      lateral[j] = c * y[j] - s * z[j];
      aloft[j] = s * y[j] + c * z[j];
    }
    std::size_t at = 0;
    for (std::size_t f = 0; f < flitches.size(); ++f) {
      const double low = flitches[f].low_butt + flitches[f].low_rise * x;
      const double high = flitches[f].high_butt + flitches[f].high_rise * x;
      for (std::size_t k = 0; k < rows[f].count; ++k) {
        const double wane = k == 0 ? 0.0 : classes[f]->wanes[k - 1] * catalogue.grid.step;
        heights[at++] = low + wane;
        heights[at++] = std::max(low + wane, high - wane);
      }
    }
    lines.stretches(lateral, aloft, heights, asked, found);
    at = 0;
    for (std::size_t f = 0; f < flitches.size(); ++f) {
      const double shift = flitches[f].lean * x;
      for (std::size_t k = 0; k < rows[f].count; ++k) {
        const Stretch& stretch = found[at++];
        const Unit left = in_units(stretch.left - shift, true);
        const Unit right = in_units(stretch.right - shift, false);
        for (std::size_t cell = first; cell <= last; ++cell) {
          narrow(rows[f].at(k), cell, left, right);
        }
      }
    }
  });
  for (std::size_t f = 0; f < flitches.size(); ++f) {
    FlitchWood& seen = woods[f];
    for (std::size_t k = 0; k < rows[f].count; ++k) narrow_to_faces(rows[f].at(k), flitches[f]);
    seen.zero = zero_of(flitches[f], seen.outer, wood.cells(), catalogue.kerf);
    seen.last_cell = wood.cells() - 1;
    const double thickness = flitches[f].high_butt - flitches[f].low_butt;
    const double bottom = flitches[f].low_butt * std::cos(std::asin(flitches[f].pose.slope));
    if (classes[f]->boxes_heart) {
      find_heart(wood, flitches[f].pose, bottom, bottom + thickness, flitches[f].lean, 0,
                 seen.heart);
    }
    if (catalogue.by_place || wood.marks->any_holes()) {
      seen.marks =
          flitch_marks(wood, flitches[f].pose, bottom, thickness, flitches[f].lean, catalogue.kerf);
    }
  }
  return woods;
}

}  // namespace kerfwright::saw
