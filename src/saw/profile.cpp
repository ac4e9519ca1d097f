#include "profile.hpp"

#include <algorithm>
#include <bit>
#include <cmath>
#include <limits>

namespace kerfwright::saw {
namespace {

constexpr float nowhere = std::numeric_limits<float>::infinity();
constexpr Unit no_left = std::numeric_limits<Unit>::max();
constexpr Unit no_right = std::numeric_limits<Unit>::min();

/// Where level lines cross a section.
struct Levels {
  std::vector<float> left, right;
  std::vector<char> many;  ///< 1 = the line crosses more than once
};

void clear(Levels& levels, std::size_t count) {
  levels.left.assign(count, nowhere);
  levels.right.assign(count, -nowhere);
  levels.many.assign(count, 0);
}

template <typename Visit>
void visit_crossings(float y0, float l0, float y1, float l1, int count, Visit visit) {
  const float low = std::min(l0, l1);
  const float high = std::max(l0, l1);
  const int from = std::max(0, static_cast<int>(std::ceil(low)));
  const int to = std::min(count - 1, static_cast<int>(std::ceil(high)) - 1);
  if (from > to) return;
  const float slope = (y1 - y0) / (l1 - l0);
  for (int k = from; k <= to; ++k) visit(k, y0 + slope * (static_cast<float>(k) - l0));
}

/// Outlines run counter-clockwise: on the right they climb, on the left they fall.
void cross(const Turned& turned, Levels& levels) {
  const std::size_t corners = turned.y.size();
  const int count = static_cast<int>(levels.left.size());
  for (std::size_t j = 0; j < corners; ++j) {
    const std::size_t k = j + 1 == corners ? 0 : j + 1;
    const bool climbs = turned.level[k] > turned.level[j];
    visit_crossings(turned.y[j], turned.level[j], turned.y[k], turned.level[k], count,
                    [&](int level, float y) {
                      const auto i = static_cast<std::size_t>(level);
                      float& slot = climbs ? levels.right[i] : levels.left[i];
                      if (slot != nowhere && slot != -nowhere) levels.many[i] = 1;
                      slot = y;
                    });
  }
}

/// The widest stretch of a level line that crosses the outline more than twice.
void keep_widest(const Turned& turned, int level, Levels& levels) {
  const std::size_t corners = turned.y.size();
  std::vector<float> at;
  for (std::size_t j = 0; j < corners; ++j) {
    const std::size_t k = j + 1 == corners ? 0 : j + 1;
    const int count = static_cast<int>(levels.left.size());
    visit_crossings(turned.y[j], turned.level[j], turned.y[k], turned.level[k], count,
                    [&](int crossed, float y) {
                      if (crossed == level) at.push_back(y);
                    });
  }
  std::sort(at.begin(), at.end());
  const auto i = static_cast<std::size_t>(level);
  levels.left[i] = nowhere;
  levels.right[i] = -nowhere;
  for (std::size_t j = 0; j + 1 < at.size(); j += 2) {
    if (at[j + 1] - at[j] > levels.right[i] - levels.left[i]) {
      levels.left[i] = at[j];
      levels.right[i] = at[j + 1];
    }
  }
}

/// The reach over each strip between two levels, corners included.
void strips_of(const Turned& turned, const Levels& levels, std::vector<float>& left,
               std::vector<float>& right) {
  const std::size_t strips = levels.left.size() - 1;
  for (std::size_t k = 0; k < strips; ++k) {
    left[k] = std::max(levels.left[k], levels.left[k + 1]);
    right[k] = std::min(levels.right[k], levels.right[k + 1]);
  }
  const std::size_t corners = turned.y.size();
  for (std::size_t j = 0; j < corners; ++j) {
    const float before = turned.level[j == 0 ? corners - 1 : j - 1];
    const float here = turned.level[j];
    const float after = turned.level[j + 1 == corners ? 0 : j + 1];
    const float floor_level = std::floor(here);
    if (floor_level < 0.0F || floor_level >= static_cast<float>(strips)) continue;
    const auto k = static_cast<std::size_t>(floor_level);
    const float y = turned.y[j];
    if (!(left[k] < y && y < right[k])) continue;
    if (before < here && here < after) right[k] = y;
    if (before > here && here > after) left[k] = y;
  }
}

Unit rounded(float mm, bool up) {
  const float units = mm * static_cast<float>(units_per_mm);
  const float whole = up ? std::ceil(units) : std::floor(units);
  return static_cast<Unit>(std::clamp(whole, -32000.0F, 32000.0F));
}

Interval everything() {
  Interval all;
  all.left.at.fill(std::numeric_limits<Unit>::min());
  all.right.at.fill(std::numeric_limits<Unit>::max());
  return all;
}

void narrow(const Interval& a, const Interval& b, Interval& out) {
  for (std::size_t c = 0; c < max_cells; ++c) {
    out.left.at[c] = std::max(a.left.at[c], b.left.at[c]);
    out.right.at[c] = std::min(a.right.at[c], b.right.at[c]);
  }
}

/// Narrows the column of one cell, in every strip, to the reach of a station that it holds.
void narrow_cell(std::vector<Interval>& strips, std::size_t cell, const std::vector<float>& left,
                 const std::vector<float>& right) {
  for (std::size_t k = 0; k < strips.size(); ++k) {
    const bool wood_here = left[k] <= right[k];
    Unit& l = strips[k].left.at[cell];
    Unit& r = strips[k].right.at[cell];
    l = std::max(l, wood_here ? rounded(left[k], true) : no_left);
    r = std::min(r, wood_here ? rounded(right[k], false) : no_right);
  }
}

std::vector<Interval> single_strips(const Wood& wood, const Pose& pose, const HeightGrid& grid) {
  const auto count = static_cast<std::size_t>(grid.levels);
  Levels levels;
  return strips_of_stations(
      wood, grid, [&](std::size_t station, std::vector<float>& left, std::vector<float>& right) {
        const Turned turned = turn_section(wood, station, pose, grid);
        clear(levels, count + 1);
        cross(turned, levels);
        for (std::size_t k = 0; k <= count; ++k) {
          if (levels.many[k]) keep_widest(turned, static_cast<int>(k), levels);
        }
        strips_of(turned, levels, left, right);
      });
}

bool holds_wood(const Interval& strip) {
  for (std::size_t c = 0; c < max_cells; ++c) {
    if (strip.left.at[c] < strip.right.at[c]) return true;
  }
  return false;
}

}  // namespace

Turned turn_section(const Wood& wood, std::size_t station, const Pose& pose,
                    const HeightGrid& grid) {
  const double cos_slope = std::sqrt(1.0 - pose.slope * pose.slope);
  const auto c = static_cast<float>(std::cos(pose.roll));
  const auto s = static_cast<float>(std::sin(pose.roll));
  const auto per_mm = static_cast<float>(cos_slope / grid.step);
  const auto shift =
      static_cast<float>((wood.station_x[station] * pose.slope - grid.origin) / grid.step);
  const auto angles = static_cast<std::size_t>(wood.angles);
  Turned turned;
  turned.y.resize(angles);
  turned.level.resize(angles);
  const float* y = wood.y.data() + station * angles;
  const float* z = wood.z.data() + station * angles;
  for (std::size_t j = 0; j < angles; ++j) {
    turned.y[j] = c * y[j] - s * z[j];
    turned.level[j] = (s * y[j] + c * z[j]) * per_mm + shift;
  }
  return turned;
}

std::vector<Interval> strips_of_stations(const Wood& wood, const HeightGrid& grid,
                                         const StationReach& reach) {
  const auto count = static_cast<std::size_t>(grid.levels);
  std::vector<Interval> strips(count, everything());
  std::vector<float> left(count), right(count);
  const auto cells = static_cast<std::size_t>(wood.cells());
  std::size_t cell = 0;
  for (std::size_t i = 0; i < wood.station_x.size(); ++i) {
    reach(i, left, right);
    while (cell + 1 < cells && static_cast<std::size_t>(wood.border_station[cell + 1]) < i) ++cell;
    narrow_cell(strips, cell, left, right);
    const bool on_border = static_cast<std::size_t>(wood.border_station[cell + 1]) == i;
    if (on_border && cell + 1 < cells) narrow_cell(strips, cell + 1, left, right);
  }
  for (auto& strip : strips) {
    std::fill(strip.left.at.begin() + wood.cells(), strip.left.at.end(), no_left);
    std::fill(strip.right.at.begin() + wood.cells(), strip.right.at.end(), no_right);
  }
  return strips;
}

HeightGrid grid_for(const Wood& wood, double step, double most_slope) {
  const double reach = wood.reach() + std::abs(most_slope) * wood.length() + 2.0 * step;
  const int half = static_cast<int>(std::ceil(reach / step));
  return HeightGrid{-half * step, step, 2 * half};
}

Profile::Profile(const Wood& wood, const Pose& pose, const HeightGrid& grid)
    : Profile(pose, grid, single_strips(wood, pose, grid)) {}

Profile::Profile(const Pose& pose, const HeightGrid& grid, std::vector<Interval> single)
    : pose_(pose), grid_(grid) {
  doubled_.push_back(std::move(single));
  const auto& strips = doubled_.front();
  const auto found = std::find_if(strips.begin(), strips.end(), holds_wood);
  if (found != strips.end()) {
    first_ = static_cast<int>(found - strips.begin());
    last_ = grid.levels - 1;
    while (!holds_wood(strips[static_cast<std::size_t>(last_)])) --last_;
  }
  const std::size_t count = strips.size();
  for (std::size_t span = 2; span <= count; span *= 2) {
    const auto& half = doubled_.back();
    std::vector<Interval> whole(count - span + 1);
    for (std::size_t k = 0; k < whole.size(); ++k) narrow(half[k], half[k + span / 2], whole[k]);
    doubled_.push_back(std::move(whole));
  }
}

void Profile::common(int strip, int count, Interval& out) const {
  const auto power = static_cast<std::size_t>(std::bit_width(static_cast<unsigned>(count)) - 1);
  const int span = 1 << power;
  const auto& table = doubled_[power];
  narrow(table[static_cast<std::size_t>(strip)],
         table[static_cast<std::size_t>(strip + count - span)], out);
}

}  // namespace kerfwright::saw
