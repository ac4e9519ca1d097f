#include "seen.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "robust.hpp"

namespace kerfwright {
namespace {

/// Sums over rows 0..r and columns 0..c, so that a window's sum is four look-ups.
std::vector<double> running_sums(const CellGrid& grid, const CellValues& values) {
  std::vector<double> sums(
      (static_cast<std::size_t>(grid.rows) + 1) * (static_cast<std::size_t>(grid.columns) + 1),
      0.0);
  const auto width = static_cast<std::size_t>(grid.columns) + 1;
  for (int r = 0; r < grid.rows; ++r) {
    for (int c = 0; c < grid.columns; ++c) {
      const std::size_t at =
          (static_cast<std::size_t>(r) + 1) * width + static_cast<std::size_t>(c) + 1;
      sums[at] = values[grid.cell(r, c)] + sums[at - 1] + sums[at - width] - sums[at - width - 1];
    }
  }
  return sums;
}

class WindowSums {
 public:
  WindowSums(const CellGrid& grid, const CellValues& values)
      : grid_(grid), sums_(running_sums(grid, values)) {}

  /// Over the window of cells within the given reach; round the girth it wraps, at the ends it
  /// stops.
  double around(int row, int column, int rows, int columns) const {
    const int top = std::max(0, row - rows), bottom = std::min(grid_.rows, row + rows + 1);
    const int left = column - columns, right = column + columns + 1;
    if (left < 0)
      return box(top, bottom, left + grid_.columns, grid_.columns) + box(top, bottom, 0, right);
    if (right > grid_.columns) {
      return box(top, bottom, left, grid_.columns) + box(top, bottom, 0, right - grid_.columns);
    }
    return box(top, bottom, left, right);
  }

 private:
  double box(int top, int bottom, int left, int right) const {
    const auto at = [&](int r, int c) {
      return sums_[static_cast<std::size_t>(r) * (static_cast<std::size_t>(grid_.columns) + 1) +
                   static_cast<std::size_t>(c)];
    };
    return at(bottom, right) - at(top, right) - at(bottom, left) + at(top, left);
  }
  CellGrid grid_;
  std::vector<double> sums_;
};

double mean_radius(const PolarCloud& cloud) {
  double sum = 0;
  for (const auto& p : cloud.points) sum += static_cast<double>(p.radius);
  return sum / std::max<double>(1.0, static_cast<double>(cloud.points.size()));
}

/// Cells next to a cell, round the girth and along the log.
std::vector<std::size_t> neighbours(const CellGrid& grid, std::size_t cell) {
  const int row = static_cast<int>(cell) / grid.columns,
            column = static_cast<int>(cell) % grid.columns;
  std::vector<std::size_t> beside{grid.cell(row, (column + 1) % grid.columns),
                                  grid.cell(row, (column + grid.columns - 1) % grid.columns)};
  if (row > 0) beside.push_back(grid.cell(row - 1, column));
  if (row + 1 < grid.rows) beside.push_back(grid.cell(row + 1, column));
  return beside;
}

/// All cells of the patch that `start` belongs to; `free` loses them.
std::vector<std::size_t> take_patch(const CellGrid& grid, std::vector<unsigned char>& free,
                                    std::size_t start) {
  std::vector<std::size_t> patch{start};
  free[start] = 0;
  for (std::size_t i = 0; i < patch.size(); ++i) {
    for (const std::size_t next : neighbours(grid, patch[i])) {
      if (free[next] == 0) continue;
      free[next] = 0;
      patch.push_back(next);
    }
  }
  return patch;
}

void drop_small_patches(SeenMap& map) {
  const auto all = static_cast<std::size_t>(std::count(map.seen.begin(), map.seen.end(), 1));
  std::vector<unsigned char> free = map.seen;
  for (std::size_t cell = 0; cell < free.size(); ++cell) {
    if (free[cell] == 0) continue;
    const auto patch = take_patch(map.grid, free, cell);
    if (10 * patch.size() >= all) continue;
    for (const std::size_t part : patch) map.seen[part] = 0;
  }
}

}  // namespace

SeenMap map_seen(const PolarCloud& cloud, const CellMeans& means) {
  const CellGrid& grid = cloud.grid;
  const double radius = mean_radius(cloud);
  const double girth = 2.0 * std::numbers::pi * radius;
  const double area = girth * grid.rows * grid.row_height;
  const double density = static_cast<double>(cloud.points.size()) / area;
  const double reach =
      std::clamp(0.5 * std::sqrt(10.0 / density), 15.0, 45.0);  // half a window, mm
  const int rows = std::max(1, static_cast<int>(std::lround(reach / grid.row_height)));
  const int columns = std::max(1, static_cast<int>(std::lround(reach / girth * grid.columns)));
  const WindowSums sums(grid, means.points);
  const double usual =
      density * (2 * rows + 1) * grid.row_height * (2 * columns + 1) * girth / grid.columns;
  const double enough = std::max(3.0, 0.06 * usual), enough_beside = std::max(1.0, 0.02 * usual);
  SeenMap map{grid, std::vector<unsigned char>(grid.size(), 0)};
  for (int row = 0; row < grid.rows; ++row) {
    for (int column = 0; column < grid.columns; ++column) {
      const auto beside = [&](int way) {
        const int middle = (column + way * (columns + 1) / 2 + grid.columns) % grid.columns;
        return sums.around(row, middle, rows, std::max(0, (columns - 1) / 2));
      };
      map.seen[grid.cell(row, column)] = sums.around(row, column, rows, columns) >= enough &&
                                                 std::min(beside(-1), beside(+1)) >= enough_beside
                                             ? 1
                                             : 0;
    }
  }
  drop_small_patches(map);
  return map;
}

CellMeans only_seen(const SeenMap& map, CellMeans means) {
  for (std::size_t cell = 0; cell < map.seen.size(); ++cell) {
    if (map.seen[cell] == 0) means.weight[cell] = 0.0;
  }
  return means;
}

CellMeans trusting_edges_less(const PolarCloud& cloud, CellMeans means) {
  const CellGrid& grid = cloud.grid;
  const double girth = 2.0 * std::numbers::pi * mean_radius(cloud);
  constexpr double reach = 15.0;           // mm
  constexpr double enough_to_tell = 20.0;  // points: fewer lean this way or that by chance
  const int columns =
      std::clamp(static_cast<int>(std::lround(reach / girth * grid.columns)), 2, grid.columns / 8);
  const int rows = 4;
  const WindowSums sums(grid, means.weight);
  const CellMeans given = means;
  for (int row = 0; row < grid.rows; ++row) {
    for (int column = 0; column < grid.columns; ++column) {
      const auto side = [&](int shift) {
        const int middle = (column + shift + grid.columns) % grid.columns;
        return sums.around(row, middle, rows, columns / 2);
      };
      const double left = side(-columns), right = side(columns);
      if (left + right < enough_to_tell) continue;
      const double lean = std::abs(left - right) / (left + right);
      means.weight[grid.cell(row, column)] *= tukey_weight(lean, 0.8);
    }
  }
  return means;
}

bool is_seen(const SeenMap& map, double x, double turn) {
  const CellGrid& grid = map.grid;
  const int row =
      std::clamp(static_cast<int>((x - grid.start) / grid.row_height), 0, grid.rows - 1);
  const int column = static_cast<int>(std::lround(turn * grid.columns)) % grid.columns;
  return map.seen[grid.cell(row, column)] != 0;
}

}  // namespace kerfwright
