#include "grown.hpp"

#include <algorithm>
#include <cmath>
#include <limits>

namespace kerfwright::saw {
namespace {

constexpr float nowhere = std::numeric_limits<float>::infinity();
constexpr double hair = 0.003;  // mm, for what single precision rounds

/// The corners of a section in one pose: lateral mm, heights in grid steps.
struct Turned {
  std::vector<float> y, level;
};

/// How far the wood reaches at each level, in any pose.
struct Reach {
  std::vector<float> left, right;

  void clear(std::size_t count) {
    left.assign(count, nowhere);
    right.assign(count, -nowhere);
  }
  void take(std::size_t k, float y) {
    left[k] = std::min(left[k], y);
    right[k] = std::max(right[k], y);
  }
};

/// Takes a segment's crossings with all levels, moved up and down by `aloft` steps.
void cross(float y0, float l0, float y1, float l1, float aloft, Reach& reach) {
  if (l0 == l1) return;
  const float slope = (y1 - y0) / (l1 - l0);
  const float low = std::min(l0, l1);
  const float high = std::max(l0, l1);
  const int count = static_cast<int>(reach.left.size());
  for (const float by : {-aloft, aloft}) {
    const int from = std::max(0, static_cast<int>(std::ceil(low + by)));
    const int to = std::min(count - 1, static_cast<int>(std::floor(high + by)));
    for (int k = from; k <= to; ++k) {
      reach.take(static_cast<std::size_t>(k), y0 + slope * (static_cast<float>(k) - by - l0));
    }
  }
}

/// A corner counts at all levels to which it can come.
void take_corner(float y, float level, float aloft, Reach& reach) {
  const int count = static_cast<int>(reach.left.size());
  const int from = std::max(0, static_cast<int>(std::ceil(level - aloft)));
  const int to = std::min(count - 1, static_cast<int>(std::floor(level + aloft)));
  for (int k = from; k <= to; ++k) reach.take(static_cast<std::size_t>(k), y);
}

class Sections {
 public:
  Sections(const Wood& wood, const PoseCell& cell, const HeightGrid& grid)
      : wood_(wood), cell_(cell), grid_(grid) {
    const double low = cell.middle.slope - cell.half_slope;
    const double high = cell.middle.slope + cell.half_slope;
    const auto cosine = [](double s) { return std::sqrt(1.0 - s * s); };
    const double flattest = low <= 0.0 && high >= 0.0 ? 1.0 : std::max(cosine(low), cosine(high));
    cos_slope_ = cosine(cell.middle.slope);
    cos_spread_ = std::max(flattest - cos_slope_, cos_slope_ - std::min(cosine(low), cosine(high)));
  }

  /// How far the wood of a station reaches at each level; `aside` is still to be added, mm.
  void find(std::size_t station, Reach& reach, float& aside) {
    const auto angles = static_cast<std::size_t>(wood_.angles);
    const float* y = wood_.y.data() + station * angles;
    const float* z = wood_.z.data() + station * angles;
    float far = 0.0F;
    for (std::size_t j = 0; j < angles; ++j) far = std::max(far, std::hypot(y[j], z[j]));
    const double out = static_cast<double>(far);
    // An arc lies this close to its chord, and what an edge sweeps to its last places and arcs.
    const double bow = 2.5 * out * cell_.half_roll * cell_.half_roll;
    aside = static_cast<float>(bow + hair);
    const double up = lifted(wood_.station_x[station]) + cos_spread_ * out + bow + hair;
    const auto aloft = static_cast<float>(up / grid_.step);
    turn(y, z, station, -cell_.half_roll, first_);
    turn(y, z, station, cell_.half_roll, last_);
    reach.clear(static_cast<std::size_t>(grid_.levels) + 1);
    for (std::size_t j = 0; j < angles; ++j) {
      const std::size_t k = j + 1 == angles ? 0 : j + 1;
      for (const Turned* turned : {&first_, &last_}) {
        cross(turned->y[j], turned->level[j], turned->y[k], turned->level[k], aloft, reach);
        take_corner(turned->y[j], turned->level[j], aloft, reach);
      }
      cross(first_.y[j], first_.level[j], last_.y[j], last_.level[j], aloft, reach);
    }
  }

 private:
  /// mm that a change of slope lifts a station at most. A change that lifts the middle of the log
  /// by more than half a step is taken about the middle, since whole steps do not count.
  double lifted(double x) const {
    const double middle = 0.5 * wood_.length();
    const double half_step = 0.5 * grid_.step;
    if (cell_.half_slope * middle <= half_step) return cell_.half_slope * x;
    return cell_.half_slope * std::abs(x - middle) + half_step;
  }

  void turn(const float* y, const float* z, std::size_t station, double by, Turned& turned) const {
    const auto angles = static_cast<std::size_t>(wood_.angles);
    const auto c = static_cast<float>(std::cos(cell_.middle.roll + by));
    const auto s = static_cast<float>(std::sin(cell_.middle.roll + by));
    const auto per_mm = static_cast<float>(cos_slope_ / grid_.step);
    const auto shift = static_cast<float>(
        (wood_.station_x[station] * cell_.middle.slope - grid_.origin) / grid_.step);
    turned.y.resize(angles);
    turned.level.resize(angles);
    for (std::size_t j = 0; j < angles; ++j) {
      turned.y[j] = c * y[j] - s * z[j];
      turned.level[j] = (s * y[j] + c * z[j]) * per_mm + shift;
    }
  }

  const Wood& wood_;
  const PoseCell& cell_;
  const HeightGrid& grid_;
  double cos_slope_ = 1, cos_spread_ = 0;
  Turned first_, last_;
};

Unit rounded(float mm, bool up) {
  const float units = mm * static_cast<float>(units_per_mm);
  const float whole = up ? std::ceil(units) : std::floor(units);
  return static_cast<Unit>(std::clamp(whole, -32000.0F, 32000.0F));
}

/// Narrows a cell of the log to the reach of a station that it holds.
void narrow(std::vector<Interval>& strips, std::size_t cell, const Reach& reach, float aside) {
  for (std::size_t k = 0; k < strips.size(); ++k) {
    const float left = std::max(reach.left[k], reach.left[k + 1]) - aside;
    const float right = std::min(reach.right[k], reach.right[k + 1]) + aside;
    Unit& l = strips[k].left.at[cell];
    Unit& r = strips[k].right.at[cell];
    const bool wood_here = left <= right;
    l = std::max(l, wood_here ? rounded(left, true) : std::numeric_limits<Unit>::max());
    r = std::min(r, wood_here ? rounded(right, false) : std::numeric_limits<Unit>::min());
  }
}

}  // namespace

std::vector<Interval> grown_strips(const Wood& wood, const PoseCell& cell, const HeightGrid& grid) {
  Interval all;
  all.left.at.fill(std::numeric_limits<Unit>::min());
  all.right.at.fill(std::numeric_limits<Unit>::max());
  const auto cells = static_cast<std::size_t>(wood.cells());
  for (std::size_t c = cells; c < max_cells; ++c) {
    std::swap(all.left.at[c], all.right.at[c]);
  }
  std::vector<Interval> strips(static_cast<std::size_t>(grid.levels), all);
  Sections sections(wood, cell, grid);
  Reach reach;
  float aside = 0.0F;
  std::size_t c = 0;
  for (std::size_t i = 0; i < wood.station_x.size(); ++i) {
    sections.find(i, reach, aside);
    while (c + 1 < cells && static_cast<std::size_t>(wood.border_station[c + 1]) < i) ++c;
    narrow(strips, c, reach, aside);
    const bool on_border = static_cast<std::size_t>(wood.border_station[c + 1]) == i;
    if (on_border && c + 1 < cells) narrow(strips, c + 1, reach, aside);
  }
  return strips;
}

double most_aside(const PoseCell& cell, double reach) { return cell.half_roll * reach + hair; }

double most_aloft(const PoseCell& cell, double reach, double length) {
  const double tilt = std::abs(cell.middle.slope) + cell.half_slope;
  return cell.half_roll * reach + cell.half_slope * (length + tilt * reach) + hair;
}

}  // namespace kerfwright::saw
