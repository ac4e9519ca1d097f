#include "cells.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "robust.hpp"

namespace kerfwright {
namespace {

CellGrid grid_for(const Placement& placement) {
  CellGrid grid;
  const double margin = grid.row_height;
  grid.start = -margin;
  grid.rows = static_cast<int>(std::ceil((placement.length + 2.0 * margin) / grid.row_height));
  return grid;
}

PolarPoint seen_from_axis(const CellGrid& grid, const Spine& spine, const Eigen::Vector3d& p) {
  const auto section = spine(p.x());
  const double y = p.y() - section[0], z = p.z() - section[1];
  double turns = std::atan2(z, y) / (2.0 * std::numbers::pi);
  if (turns < 0.0) turns += 1.0;
  auto column = static_cast<float>(turns * grid.columns);
  if (column >= static_cast<float>(grid.columns)) column = 0.0F;
  return {static_cast<float>(p.x()), column, static_cast<float>(std::hypot(y, z))};
}

/// Counting sort by row: stable, so the same on any number of threads.
void sort_by_row(PolarCloud& cloud, const std::vector<PolarPoint>& points,
                 const std::vector<int>& rows) {
  const auto count = static_cast<std::size_t>(cloud.grid.rows);
  cloud.row_start.assign(count + 1, 0);
  for (const int row : rows) {
    if (row >= 0) ++cloud.row_start[static_cast<std::size_t>(row) + 1];
  }
  for (std::size_t r = 0; r < count; ++r) cloud.row_start[r + 1] += cloud.row_start[r];
  std::vector<std::size_t> next(cloud.row_start.begin(), cloud.row_start.end() - 1);
  cloud.points.resize(cloud.row_start.back());
  for (std::size_t i = 0; i < points.size(); ++i) {
    if (rows[i] >= 0) cloud.points[next[static_cast<std::size_t>(rows[i])]++] = points[i];
  }
}

int column_of(const CellGrid& grid, const PolarPoint& point) {
  const int column = static_cast<int>(point.column + 0.5F);
  return column >= grid.columns ? 0 : column;
}

/// Rows and columns of a block so that an occupied block holds a dozen points or so.
struct Block {
  int rows = 2, columns = 4;
};

Block block_for(const PolarCloud& cloud) {
  std::vector<char> held(cloud.grid.cell(cloud.grid.rows / 4 + 1, 0) / 4, 0);
  std::size_t occupied = 0;
  for (int row = 0; row < cloud.grid.rows; ++row) {
    for (std::size_t i = cloud.row_start[static_cast<std::size_t>(row)];
         i < cloud.row_start[static_cast<std::size_t>(row) + 1]; ++i) {
      auto& cell = held[cloud.grid.cell(row / 4, column_of(cloud.grid, cloud.points[i])) / 4];
      occupied += cell == 0;
      cell = 1;
    }
  }
  const double each = static_cast<double>(cloud.points.size()) /
                      std::max<double>(1.0, static_cast<double>(occupied));
  if (each > 24) return {2, 4};
  if (each > 10) return {4, 4};
  if (each > 4) return {6, 6};
  return {8, 8};
}

CellValues points_in_cells(const PolarCloud& cloud) {
  CellValues count(cloud.grid.size(), 0.0);
  for (int row = 0; row < cloud.grid.rows; ++row) {
    for (std::size_t i = cloud.row_start[static_cast<std::size_t>(row)];
         i < cloud.row_start[static_cast<std::size_t>(row) + 1]; ++i) {
      count[cloud.grid.cell(row, column_of(cloud.grid, cloud.points[i]))] += 1.0;
    }
  }
  return count;
}

struct LayerMedian {
  double radius = 0;
  bool layered = false;
};

/// The median of a block's radii; of the inner layer where there are two.
LayerMedian inner_median(std::vector<float>& radii, double gap) {
  std::sort(radii.begin(), radii.end());
  const std::size_t n = radii.size();
  for (std::size_t i = n / 5 + 1; n >= 8 && i + n / 5 < n; ++i) {
    if (static_cast<double>(radii[i] - radii[i - 1]) > gap)
      return {static_cast<double>(radii[i / 2]), true};
  }
  return {0.5 * static_cast<double>(radii[n / 2] + radii[(n - 1) / 2]), false};
}

/// Medians of the blocks of one band of rows, at the cells in the blocks' middles.
struct Layers {
  int blocks = 0, layered = 0;
};

Layers band_medians(const PolarCloud& cloud, const Block& block, int band, CellMeans& means) {
  const CellGrid& grid = cloud.grid;
  const int across = (grid.columns + block.columns - 1) / block.columns;
  const int first = band * block.rows, last = std::min(grid.rows, first + block.rows);
  std::vector<std::vector<float>> radii(static_cast<std::size_t>(across));
  for (std::size_t i = cloud.row_start[static_cast<std::size_t>(first)];
       i < cloud.row_start[static_cast<std::size_t>(last)]; ++i) {
    const int column = column_of(grid, cloud.points[i]);
    radii[static_cast<std::size_t>(column / block.columns)].push_back(cloud.points[i].radius);
  }
  Layers layers;
  for (int b = 0; b < across; ++b) {
    auto& held = radii[static_cast<std::size_t>(b)];
    if (held.size() < 3) continue;
    const int row = std::min(first + block.rows / 2, grid.rows - 1);
    const int column = std::min(b * block.columns + block.columns / 2, grid.columns - 1);
    const LayerMedian found = inner_median(held, 25.0);
    means.weight[grid.cell(row, column)] = std::min<double>(12.0, static_cast<double>(held.size()));
    means.radius[grid.cell(row, column)] = found.radius;
    ++layers.blocks;
    layers.layered += found.layered ? 1 : 0;
  }
  return layers;
}

}  // namespace

PolarCloud to_polar(const std::vector<Eigen::Vector3f>& points, const Placement& placement) {
  PolarCloud cloud;
  cloud.grid = grid_for(placement);
  cloud.spine = placement.spine;
  std::vector<PolarPoint> polar(points.size());
  std::vector<int> rows(points.size(), -1);
  const auto count = static_cast<std::ptrdiff_t>(points.size());
#pragma omp parallel for schedule(static)
  for (std::ptrdiff_t i = 0; i < count; ++i) {
    const auto index = static_cast<std::size_t>(i);
    const Eigen::Vector3d p = placement.scan_to_log * points[index].cast<double>();
    if (!on_bark(placement, p)) continue;
    const double row = std::floor((p.x() - cloud.grid.start) / cloud.grid.row_height);
    if (row < 0 || row >= cloud.grid.rows) continue;
    rows[index] = static_cast<int>(row);
    polar[index] = seen_from_axis(cloud.grid, placement.spine, p);
  }
  sort_by_row(cloud, polar, rows);
  return cloud;
}

double value_at(const CellGrid& grid, const CellValues& values, const PolarPoint& point) {
  const double along =
      std::clamp((static_cast<double>(point.x) - grid.start) / grid.row_height - 0.5, 0.0,
                 static_cast<double>(grid.rows - 1));
  const int row = std::min(static_cast<int>(along), std::max(0, grid.rows - 2));
  const int next_row = std::min(row + 1, grid.rows - 1);
  const double down = along - row;
  const int column = std::min(static_cast<int>(point.column), grid.columns - 1);
  const int next_column = column + 1 == grid.columns ? 0 : column + 1;
  const double right = static_cast<double>(point.column) - column;
  const double here =
      values[grid.cell(row, column)] * (1.0 - right) + values[grid.cell(row, next_column)] * right;
  const double next = values[grid.cell(next_row, column)] * (1.0 - right) +
                      values[grid.cell(next_row, next_column)] * right;
  return here * (1.0 - down) + next * down;
}

CellMeans block_medians(const PolarCloud& cloud) {
  const CellGrid& grid = cloud.grid;
  const Block block = block_for(cloud);
  CellMeans means{CellValues(grid.size(), 0.0), CellValues(grid.size(), 0.0),
                  points_in_cells(cloud)};
  const int bands = (grid.rows + block.rows - 1) / block.rows;
  std::vector<Layers> layers(static_cast<std::size_t>(bands));
#pragma omp parallel for schedule(static)
  for (int band = 0; band < bands; ++band) {
    layers[static_cast<std::size_t>(band)] = band_medians(cloud, block, band, means);
  }
  Layers all;
  for (const Layers& part : layers) {
    all.blocks += part.blocks;
    all.layered += part.layered;
  }
  if (all.blocks > 0) means.layered = static_cast<double>(all.layered) / all.blocks;
  return means;
}

CellValues steepness_of(const CellGrid& grid, const CellValues& surface) {
  CellValues steepness(grid.size());
  const double turn = 2.0 * std::numbers::pi / grid.columns;
  for (int row = 0; row < grid.rows; ++row) {
    const int above = std::max(0, row - 1), below = std::min(grid.rows - 1, row + 1);
    const double along = std::max(1, below - above) * grid.row_height;
    for (int column = 0; column < grid.columns; ++column) {
      const int left = (column + grid.columns - 1) % grid.columns,
                right = (column + 1) % grid.columns;
      const double radius = std::max(1.0, surface[grid.cell(row, column)]);
      const double round =
          (surface[grid.cell(row, right)] - surface[grid.cell(row, left)]) / (2.0 * turn * radius);
      const double length =
          (surface[grid.cell(below, column)] - surface[grid.cell(above, column)]) / along;
      steepness[grid.cell(row, column)] = std::sqrt(1.0 + round * round + length * length);
    }
  }
  return steepness;
}

CellMeans robust_means(const PolarCloud& cloud, const CellValues& surface, double noise) {
  const CellGrid& grid = cloud.grid;
  CellMeans means{CellValues(grid.size(), 0.0), CellValues(grid.size(), 0.0),
                  CellValues(grid.size(), 0.0)};
  const CellValues steepness = steepness_of(grid, surface);
  const double limit = std::max(4.0, tukey_limit * noise);
#pragma omp parallel for schedule(static)
  for (int row = 0; row < grid.rows; ++row) {
    for (std::size_t i = cloud.row_start[static_cast<std::size_t>(row)];
         i < cloud.row_start[static_cast<std::size_t>(row) + 1]; ++i) {
      const PolarPoint& p = cloud.points[i];
      const std::size_t cell = grid.cell(row, column_of(grid, p));
      const double steep = steepness[cell];
      const double misfit = static_cast<double>(p.radius) - value_at(grid, surface, p);
      const double weight = tukey_weight(misfit, limit * steep) / (steep * steep);
      means.weight[cell] += weight;
      means.points[cell] += weight > 0.0 ? 1.0 : 0.0;
      means.radius[cell] += weight * misfit;
    }
    for (int column = 0; column < grid.columns; ++column) {
      const std::size_t cell = grid.cell(row, column);
      if (means.weight[cell] > 0.0) means.radius[cell] /= means.weight[cell];
      means.radius[cell] += surface[cell];
    }
  }
  return means;
}

double noise_about(const PolarCloud& cloud, const CellValues& surface) {
  const CellGrid& grid = cloud.grid;
  const CellValues steepness = steepness_of(grid, surface);
  const std::size_t stride = cloud.points.size() / 60000 + 1;
  std::vector<double> sizes;
  for (std::size_t i = 0; i < cloud.points.size(); i += stride) {
    const PolarPoint& p = cloud.points[i];
    const int row =
        std::clamp(static_cast<int>((static_cast<double>(p.x) - grid.start) / grid.row_height), 0,
                   grid.rows - 1);
    const double misfit = static_cast<double>(p.radius) - value_at(grid, surface, p);
    sizes.push_back(std::abs(misfit) / steepness[grid.cell(row, column_of(grid, p))]);
  }
  return sigma_of_mad * median(std::move(sizes));
}

}  // namespace kerfwright
