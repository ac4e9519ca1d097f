#pragma once

#include <cstddef>
#include <vector>

#include "placement.hpp"

namespace kerfwright {

/// The unrolled surface as a grid: rows along x, columns round the girth.
struct CellGrid {
  double start = 0;          ///< mm, where row 0 begins
  double row_height = 12.5;  ///< mm
  int rows = 0;
  int columns = 256;  ///< column c covers the angles from (c - 1/2) to (c + 1/2) steps

  double row_centre(int row) const { return start + (row + 0.5) * row_height; }
  std::size_t size() const {
    return static_cast<std::size_t>(rows) * static_cast<std::size_t>(columns);
  }
  std::size_t cell(int row, int column) const {
    return static_cast<std::size_t>(row) * static_cast<std::size_t>(columns) +
           static_cast<std::size_t>(column);
  }
};

/// A bark point as seen from the axis.
struct PolarPoint {
  float x = 0;       ///< mm
  float column = 0;  ///< angle in columns of the grid, 0 <= column < columns
  float radius = 0;  ///< mm
};

/// Bark points sorted by row, in the scan's order within a row.
struct PolarCloud {
  CellGrid grid;
  std::vector<PolarPoint> points;
  std::vector<std::size_t> row_start;  ///< rows + 1 numbers
  Spine spine;                         ///< what the radii were measured from
};

/// Values at the centres of the cells.
using CellValues = std::vector<double>;

/// What the points say of each cell, given a surface: sum of robust weights and weighted mean
/// radius.
struct CellMeans {
  CellValues weight, radius;
  CellValues points;  ///< how many points agree with the surface
  double layered =
      0;  ///< share of the blocks in which the bark lies in two layers, as seen from the axis
};

PolarCloud to_polar(const std::vector<Eigen::Vector3f>& points, const Placement& placement);

/// Bilinear between the centres of cells.
double value_at(const CellGrid& grid, const CellValues& values, const PolarPoint& point);

/// A first surface from medians over blocks of cells. Where the points of a block fall into two
/// layers (a deep flute that a ray meets twice, a rest under the log) the nearer to the axis
/// counts: wood is certain only up to there.
CellMeans block_medians(const PolarCloud& cloud);

/// How much longer than square to the surface the way along the ray is, cell by cell, 1 or more: on
/// the flank of a flute noise and misfit look that much larger.
CellValues steepness_of(const CellGrid& grid, const CellValues& surface);

/// Tukey-weighted means about `surface`, each point against the surface at its own place, so that a
/// steep slope within a cell does not bend the mean.
CellMeans robust_means(const PolarCloud& cloud, const CellValues& surface, double noise);

/// Robust standard deviation of the points about `surface`, square to it, mm.
double noise_about(const PolarCloud& cloud, const CellValues& surface);

}  // namespace kerfwright
