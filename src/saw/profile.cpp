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

/// For what lies within the range of int; std::floor is a call where the machine is not told.
int floor_of(float value) {
  const int whole = static_cast<int>(value);
  return whole - (static_cast<float>(whole) > value ? 1 : 0);
}

int ceil_of(float value) {
  const int whole = static_cast<int>(value);
  return whole + (static_cast<float>(whole) < value ? 1 : 0);
}

/// The levels that an edge crosses, and where.
struct Crossed {
  int from = 0, to = -1;
  float y = 0, level = 0, slope = 0;
  float at(int k) const { return y + slope * (static_cast<float>(k) - level); }
};

Crossed crossed(const Turned& turned, std::size_t j, std::size_t k, int count) {
  const float l0 = turned.level[j];
  const float l1 = turned.level[k];
  Crossed edge{.from = std::max(0, ceil_of(std::min(l0, l1))),
               .to = std::min(count - 1, ceil_of(std::max(l0, l1)) - 1),
               .y = turned.y[j],
               .level = l0};
  if (edge.from <= edge.to) edge.slope = (turned.y[k] - turned.y[j]) / (l1 - l0);
  return edge;
}

/// Whether no level line can cross the outline more than twice: it climbs once and falls once.
bool climbs_once(const Turned& turned) {
  const std::size_t corners = turned.level.size();
  int changes = 0;
  bool climbed = turned.level[0] > turned.level[corners - 1];
  for (std::size_t j = 0; j < corners; ++j) {
    const bool climbs = turned.level[j + 1 == corners ? 0 : j + 1] > turned.level[j];
    changes += climbs != climbed ? 1 : 0;
    climbed = climbs;
  }
  return changes <= 2;
}

/// Outlines run counter-clockwise: on the right they climb, on the left they fall.
void cross(const Turned& turned, Levels& levels) {
  const std::size_t corners = turned.y.size();
  const int count = static_cast<int>(levels.left.size());
  const bool simple = climbs_once(turned);
  for (std::size_t j = 0; j < corners; ++j) {
    const std::size_t k = j + 1 == corners ? 0 : j + 1;
    const bool climbs = turned.level[k] > turned.level[j];
    float* const side = climbs ? levels.right.data() : levels.left.data();
    const Crossed edge = crossed(turned, j, k, count);
    if (simple) {
      for (int i = edge.from; i <= edge.to; ++i) side[i] = edge.at(i);
      continue;
    }
    for (int i = edge.from; i <= edge.to; ++i) {
      if (side[i] != nowhere && side[i] != -nowhere) levels.many[static_cast<std::size_t>(i)] = 1;
      side[i] = edge.at(i);
    }
  }
}

/// The widest stretch of a level line that crosses the outline more than twice.
void keep_widest(const Turned& turned, int level, Levels& levels) {
  const std::size_t corners = turned.y.size();
  std::vector<float> at;
  for (std::size_t j = 0; j < corners; ++j) {
    const std::size_t k = j + 1 == corners ? 0 : j + 1;
    const Crossed edge = crossed(turned, j, k, static_cast<int>(levels.left.size()));
    if (edge.from <= level && level <= edge.to) at.push_back(edge.at(level));
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
    const int below = floor_of(here);
    if (below < 0 || below >= static_cast<int>(strips)) continue;
    const auto k = static_cast<std::size_t>(below);
    const float y = turned.y[j];
    if (!(left[k] < y && y < right[k])) continue;
    if (before < here && here < after) right[k] = y;
    if (before > here && here > after) left[k] = y;
  }
}

/// In units, rounded into the wood; what lies beyond the range of units is at its end.
Unit left_units(float mm) {
  return static_cast<Unit>(ceil_of(std::clamp(mm * units_per_mm, -32000.0F, 32000.0F)));
}
Unit right_units(float mm) {
  return static_cast<Unit>(floor_of(std::clamp(mm * units_per_mm, -32000.0F, 32000.0F)));
}

/// [strip] the reach of one station, or what the stations of a cell have in common.
struct Column {
  std::vector<Unit> left, right;

  void clear(std::size_t strips) {
    left.assign(strips, std::numeric_limits<Unit>::min());
    right.assign(strips, std::numeric_limits<Unit>::max());
  }
  void set(const std::vector<float>& from, const std::vector<float>& to) {
    left.resize(from.size());
    right.resize(from.size());
    for (std::size_t k = 0; k < from.size(); ++k) {
      const bool wood_here = from[k] <= to[k];
      left[k] = wood_here ? left_units(from[k]) : no_left;
      right[k] = wood_here ? right_units(to[k]) : no_right;
    }
  }
  void narrow(const Column& other) {
    for (std::size_t k = 0; k < left.size(); ++k) left[k] = std::max(left[k], other.left[k]);
    for (std::size_t k = 0; k < right.size(); ++k) right[k] = std::min(right[k], other.right[k]);
  }
  void put(std::vector<Interval>& strips, std::size_t cell) const {
    for (std::size_t k = 0; k < strips.size(); ++k) {
      strips[k].left.at[cell] = left[k];
      strips[k].right.at[cell] = right[k];
    }
  }
};

void narrow(const Interval& a, const Interval& b, Interval& out) {
  for (std::size_t c = 0; c < max_cells; ++c) {
    out.left.at[c] = std::max(a.left.at[c], b.left.at[c]);
    out.right.at[c] = std::min(a.right.at[c], b.right.at[c]);
  }
}

std::vector<Interval> single_strips(const Wood& wood, const Pose& pose, const HeightGrid& grid) {
  const auto count = static_cast<std::size_t>(grid.levels);
  Levels levels;
  Turned turned;
  return strips_of_stations(
      wood, grid, [&](std::size_t station, std::vector<float>& left, std::vector<float>& right) {
        turn_section(wood, station, pose, grid, turned);
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

void turn_section(const Wood& wood, std::size_t station, const Pose& pose, const HeightGrid& grid,
                  Turned& turned) {
  const double cos_slope = std::sqrt(1.0 - pose.slope * pose.slope);
  const auto c = static_cast<float>(std::cos(pose.roll));
  const auto s = static_cast<float>(std::sin(pose.roll));
  const auto per_mm = static_cast<float>(cos_slope / grid.step);
  const auto shift =
      static_cast<float>((wood.station_x[station] * pose.slope - grid.origin) / grid.step);
  const auto angles = static_cast<std::size_t>(wood.angles);
  turned.y.resize(angles);
  turned.level.resize(angles);
  const float* y = wood.y.data() + station * angles;
  const float* z = wood.z.data() + station * angles;
  for (std::size_t j = 0; j < angles; ++j) {
    turned.y[j] = c * y[j] - s * z[j];
    turned.level[j] = (s * y[j] + c * z[j]) * per_mm + shift;
  }
}

std::vector<Interval> strips_of_stations(const Wood& wood, const HeightGrid& grid,
                                         const StationReach& reach) {
  const auto count = static_cast<std::size_t>(grid.levels);
  const auto cells = static_cast<std::size_t>(wood.cells());
  std::vector<Interval> strips(count);
  std::vector<float> left(count), right(count);
  Column station, column;
  column.clear(count);
  std::size_t cell = 0;
  for (std::size_t i = 0; i < wood.station_x.size(); ++i) {
    reach(i, left, right);
    station.set(left, right);
    column.narrow(station);
    if (static_cast<std::size_t>(wood.border_station[cell + 1]) > i) continue;
    column.put(strips, cell);
    if (++cell == cells) break;
    std::swap(column, station);  // a border belongs to the cells on both sides
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

Profile::Profile(const Wood& wood, const Pose& pose, const HeightGrid& grid, int most)
    : Profile(pose, grid, single_strips(wood, pose, grid), most) {}

Profile::Profile(const Pose& pose, const HeightGrid& grid, std::vector<Interval> single, int most)
    : pose_(pose), grid_(grid) {
  const auto found = std::find_if(single.begin(), single.end(), holds_wood);
  if (found == single.end()) return;
  first_ = static_cast<int>(found - single.begin());
  last_ = grid.levels - 1;
  while (!holds_wood(single[static_cast<std::size_t>(last_)])) --last_;
  single.resize(static_cast<std::size_t>(last_) + 1);
  single.erase(single.begin(), single.begin() + first_);
  const std::size_t count = single.size();
  const std::size_t longest = std::min(count, static_cast<std::size_t>(most));
  doubled_.push_back(std::move(single));
  for (std::size_t span = 2; span <= longest; span *= 2) {
    const auto& half = doubled_.back();
    std::vector<Interval> whole(count - span + 1);
    for (std::size_t k = 0; k < whole.size(); ++k) narrow(half[k], half[k + span / 2], whole[k]);
    doubled_.push_back(std::move(whole));
  }
}

void Profile::common(int strip, int count, Interval& out) const {
  if (strip < first_ || strip + count - 1 > last_) {
    out.left.at.fill(no_left);
    out.right.at.fill(no_right);
    return;
  }
  const auto power = static_cast<std::size_t>(std::bit_width(static_cast<unsigned>(count)) - 1);
  const int span = 1 << power;
  const auto& table = doubled_[power];
  const auto at = static_cast<std::size_t>(strip - first_);
  narrow(table[at], table[at + static_cast<std::size_t>(count - span)], out);
}

}  // namespace kerfwright::saw
