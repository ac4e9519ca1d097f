#pragma once

#include <array>
#include <cmath>
#include <cstdint>
#include <functional>
#include <limits>
#include <vector>

#include "wood.hpp"

namespace kerfwright::saw {

/// Lateral positions are whole tenths of a millimetre, rounded into the wood.
inline constexpr int units_per_mm = 10;
using Unit = std::int16_t;

/// One lateral bound for each cell of the log, in units.
struct alignas(16) Row {
  std::array<Unit, max_cells> at;
};

/// How far the wood reaches in each cell: usable where left <= right.
struct Interval {
  Row left, right;
};

/// How a log lies under the saw: turned by `roll` (radians, right-handed about +x), then the top
/// end raised so that the chord climbs by `slope` (sine of the angle to the bed).
struct Pose {
  double roll = 0;
  double slope = 0;
};

/// Heights are whole steps above `origin` (mm, measured from the chord's butt end, square to the
/// bed).
struct HeightGrid {
  double origin = 0;  ///< mm
  double step = 1;    ///< mm
  int levels = 0;     ///< strips; strip k reaches from origin + k step to origin + (k + 1) step
  double height(int level) const { return origin + step * level; }
  /// Strips that a thickness in mm takes, rounded up but for a hair of rounding.
  int strips(double mm) const { return static_cast<int>(std::ceil(mm / step - 1e-6)); }
};

/// A grid that holds the wood in any pose of a slope up to `most_slope`.
HeightGrid grid_for(const Wood& wood, double step, double most_slope);

/// One section under the saw: corners with the lateral position in mm and the height in grid steps.
struct Turned {
  std::vector<float> y, level;
};
void turn_section(const Wood& wood, std::size_t station, const Pose& pose, const HeightGrid& grid,
                  Turned& turned);

/// How far a station's wood reaches over each strip, mm: fills `left` and `right`, [strip]; no wood
/// where left > right.
using StationReach =
    std::function<void(std::size_t station, std::vector<float>& left, std::vector<float>& right)>;

/// [strip] what all stations of each cell have in common.
std::vector<Interval> strips_of_stations(const Wood& wood, const HeightGrid& grid,
                                         const StationReach& reach);

/// For each cell and each strip of heights, how far the wood reaches left and right under the saw.
///
/// The outline is a polygon, so that the reach over a strip is exact: the least of the two levels
/// that bound it and of the corners between. Where a level line crosses the wood more than once,
/// the widest stretch counts. Queries over a range of strips take the intersection of two ranges
/// whose lengths are powers of two, so that a flitch of any thickness costs the same.
class Profile {
 public:
  static constexpr int any = std::numeric_limits<int>::max();

  /// @param most strips that `common` will be asked for at once
  Profile(const Wood& wood, const Pose& pose, const HeightGrid& grid, int most = any);
  /// @param strips [strip] how far the wood reaches, one for each level of the grid
  Profile(const Pose& pose, const HeightGrid& grid, std::vector<Interval> strips, int most = any);

  /// The stretch common to `count` strips from `strip` upwards; 1 <= count <= most, all strips on
  /// the grid.
  void common(int strip, int count, Interval& out) const;

  const HeightGrid& grid() const { return grid_; }
  const Pose& pose() const { return pose_; }
  /// First and last strip that hold wood in any cell (last < first where there is none).
  int first_strip() const { return first_; }
  int last_strip() const { return last_; }

 private:
  Pose pose_;
  HeightGrid grid_;
  int first_ = 0, last_ = -1;
  std::vector<std::vector<Interval>> doubled_;  ///< [p][strip - first]: common to 2^p strips
};

}  // namespace kerfwright::saw
