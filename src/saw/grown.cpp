#include "grown.hpp"

#include <algorithm>
#include <cmath>
#include <limits>

namespace kerfwright::saw {
namespace {

constexpr float nowhere = std::numeric_limits<float>::infinity();
constexpr double hair = 0.003;         // mm, for what single precision rounds
constexpr double mean_lifting = 0.32;  // of the log's length: half of it, the mean of |sin|

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
    const double middle = cosine(cell.middle.slope);
    cos_spread_ = std::max(flattest - middle, middle - std::min(cosine(low), cosine(high)));
  }

  /// How far the wood of a station reaches at each level; `aside` is still to be added, mm.
  void find(std::size_t station, Reach& reach, float& aside) const {
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
    const Turned first = turned(station, -cell_.half_roll);
    const Turned last = turned(station, cell_.half_roll);
    reach.clear(static_cast<std::size_t>(grid_.levels) + 1);
    for (std::size_t j = 0; j < angles; ++j) {
      const std::size_t k = j + 1 == angles ? 0 : j + 1;
      for (const Turned* turned : {&first, &last}) {
        cross(turned->y[j], turned->level[j], turned->y[k], turned->level[k], aloft, reach);
        take_corner(turned->y[j], turned->level[j], aloft, reach);
      }
      cross(first.y[j], first.level[j], last.y[j], last.level[j], aloft, reach);
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

  Turned turned(std::size_t station, double by) const {
    Turned turned;
    turn_section(wood_, station, {cell_.middle.roll + by, cell_.middle.slope}, grid_, turned);
    return turned;
  }

  const Wood& wood_;
  const PoseCell& cell_;
  const HeightGrid& grid_;
  double cos_spread_ = 0;
};

}  // namespace

std::vector<Interval> grown_strips(const Wood& wood, const PoseCell& cell, const HeightGrid& grid) {
  const Sections sections(wood, cell, grid);
  Reach reach;
  float aside = 0.0F;
  return strips_of_stations(
      wood, grid, [&](std::size_t station, std::vector<float>& left, std::vector<float>& right) {
        sections.find(station, reach, aside);
        for (std::size_t k = 0; k < left.size(); ++k) {
          left[k] = std::max(reach.left[k], reach.left[k + 1]) - aside;
          right[k] = std::min(reach.right[k], reach.right[k + 1]) + aside;
        }
      });
}

double most_aside(const PoseCell& cell, double reach) { return cell.half_roll * reach + hair; }

double most_aloft(const PoseCell& cell, double reach, double length) {
  const double tilt = std::abs(cell.middle.slope) + cell.half_slope;
  return cell.half_roll * reach + cell.half_slope * (length + tilt * reach) + hair;
}

std::vector<Interval> shared_cuts(const Wood& wood, const PoseCell& cell, const HeightGrid& grid,
                                  int kerf_strips) {
  const Profile middle(wood, cell.middle, grid);
  const double reach = wood.reach();
  const int aloft = grid.strips(most_aloft(cell, reach, wood.length())) + 1;
  const auto aside = static_cast<int>(std::ceil(units_per_mm * most_aside(cell, reach)));
  Interval none;
  none.left.at.fill(std::numeric_limits<Unit>::max());
  none.right.at.fill(std::numeric_limits<Unit>::min());
  std::vector<Interval> cuts(static_cast<std::size_t>(grid.levels), none);
  for (int k = 0; k < grid.levels; ++k) {
    const int from = k - aloft - kerf_strips;
    const int to = k + aloft;
    if (from < 0 || to >= grid.levels) continue;
    Interval& cut = cuts[static_cast<std::size_t>(k)];
    middle.common(from, to - from + 1, cut);
    for (std::size_t c = 0; c < max_cells; ++c) {
      if (cut.right.at[c] - cut.left.at[c] <= 2 * aside) {
        cut.left.at[c] = none.left.at[c];
        cut.right.at[c] = none.right.at[c];
        continue;
      }
      cut.left.at[c] = static_cast<Unit>(cut.left.at[c] + aside);
      cut.right.at[c] = static_cast<Unit>(cut.right.at[c] - aside);
    }
  }
  return cuts;
}

Growth growth_of(const Wood& wood) {
  const auto angles = static_cast<std::size_t>(wood.angles);
  double sum = 0.0;
  double girth = 0.0;
  for (std::size_t i = 0; i < wood.station_x.size(); ++i) {
    for (std::size_t j = 0; j < angles; ++j) {
      const std::size_t a = i * angles + j;
      const std::size_t b = i * angles + (j + 1) % angles;
      const double dy = static_cast<double>(wood.y[b] - wood.y[a]);
      const double dz = static_cast<double>(wood.z[b] - wood.z[a]);
      const double y = 0.5 * static_cast<double>(wood.y[b] + wood.y[a]);
      const double z = 0.5 * static_cast<double>(wood.z[b] + wood.z[a]);
      sum += std::abs(y * dy + z * dz);
      girth += std::hypot(dy, dz);
    }
  }
  return {girth > 0.0 ? sum / girth : 0.0, mean_lifting * wood.length()};
}

}  // namespace kerfwright::saw
