#include "ground.hpp"

#include <Eigen/Geometry>
#include <Eigen/LU>
#include <algorithm>
#include <cmath>
#include <map>
#include <utility>

#include "quantile.hpp"

namespace kerfwright {
namespace {

using Outline = std::vector<Eigen::Vector2d>;

double turn(const Eigen::Vector2d& a, const Eigen::Vector2d& b, const Eigen::Vector2d& c) {
  return (b - a).x() * (c - a).y() - (b - a).y() * (c - a).x();
}

/// Convex hull, counter-clockwise (A. M. Andrew, Information Processing Letters 9, 1979).
Outline convex_outline(Outline points) {
  std::sort(points.begin(), points.end(), [](const Eigen::Vector2d& a, const Eigen::Vector2d& b) {
    return a.x() != b.x() ? a.x() < b.x() : a.y() < b.y();
  });
  Outline hull;
  const auto chain = [&hull](const Eigen::Vector2d& p, std::size_t least) {
    while (hull.size() > least && turn(hull[hull.size() - 2], hull.back(), p) <= 0.0)
      hull.pop_back();
    hull.push_back(p);
  };
  for (const Eigen::Vector2d& p : points) chain(p, 1);
  const std::size_t lower = hull.size();
  for (std::size_t i = points.size(); i-- > 1;) chain(points[i - 1], lower);
  hull.pop_back();
  return hull;
}

double area_of(const Outline& outline) {
  double twice = 0.0;
  for (std::size_t i = 0; i < outline.size(); ++i) {
    const Eigen::Vector2d& a = outline[i];
    const Eigen::Vector2d& b = outline[(i + 1) % outline.size()];
    twice += a.x() * b.y() - a.y() * b.x();
  }
  return 0.5 * twice;
}

bool is_within(const Outline& outline, const Eigen::Vector2d& p) {
  for (std::size_t i = 0; i < outline.size(); ++i)
    if (turn(outline[i], outline[(i + 1) % outline.size()], p) < 0.0) return false;
  return true;
}

/// Without places that stand alone: one stray would stretch an outline over the whole yard.
Outline in_company(const Outline& places, double cell) {
  std::map<std::pair<int, int>, int> count;
  const auto key = [cell](const Eigen::Vector2d& p) {
    return std::pair(static_cast<int>(std::floor(p.x() / cell)),
                     static_cast<int>(std::floor(p.y() / cell)));
  };
  for (const Eigen::Vector2d& p : places) ++count[key(p)];
  Outline kept;
  for (const Eigen::Vector2d& p : places)
    if (count[key(p)] >= 4) kept.push_back(p);
  return kept;
}

struct PlaneAxes {
  Eigen::Vector3d along, across;
};

PlaneAxes axes_of(const Eigen::Vector3d& normal) {
  const Eigen::Vector3d along = normal.unitOrthogonal();
  return {along, normal.cross(along)};
}

using Places =
    std::map<std::pair<int, int>, std::vector<double>>;  ///< heights in cells of the plane

/// How thick what lies in the band is where it lies: the median over the cells of the robust
/// deviation of heights. Soil is thin; a slice of a tube fills the band.
double thickness_of(const Places& cells) {
  std::vector<double> deviations;
  for (const auto& [cell, heights] : cells) {
    if (heights.size() < 4) continue;
    std::vector<double> sorted = heights;
    const double middle = take_quantile(sorted);
    for (double& h : sorted) h = std::abs(h - middle);
    deviations.push_back(1.4826 * take_quantile(sorted));
  }
  return deviations.empty() ? 0.0 : take_quantile(deviations);
}

// Share of the band: soil with grass on it was up to 0.25 in 300 invented yards, a slice of a bowed
// pole at least 0.5 however it was turned.
constexpr double thickest_soil = 0.4;

struct Sides {
  std::size_t near = 0, above = 0, below = 0;
};

/// Whether the plane (its normal turned to where the rest of the scene is) can be ground.
bool is_ground_like(const Points& points, double band, const PlaneAxes& axes, Plane& plane) {
  Sides sides;
  Outline flat, rest;
  Places cells;
  for (const Eigen::Vector3f& point : points) {
    const Eigen::Vector3d p = point.cast<double>();
    const double height = plane.normal.dot(p) - plane.distance;
    const Eigen::Vector2d place(axes.along.dot(p), axes.across.dot(p));
    if (std::abs(height) <= band) {
      ++sides.near;
      flat.push_back(place);
      cells[{static_cast<int>(std::floor(place.x() / (3.0 * band))),
             static_cast<int>(std::floor(place.y() / (3.0 * band)))}]
          .push_back(height);
    } else if (std::abs(height) > 2.0 * band) {
      ++(height > 0.0 ? sides.above : sides.below);
      rest.push_back(place);
    }
  }
  if (thickness_of(cells) > thickest_soil * band) return false;
  rest = in_company(rest, 2.0 * band);
  flat = in_company(flat, 2.0 * band);
  if (rest.size() < 20 || flat.size() < 20) return false;
  const Outline outline = convex_outline(flat);
  const auto within = static_cast<std::size_t>(std::count_if(
      rest.begin(), rest.end(), [&](const auto& p) { return is_within(outline, p); }));
  if (sides.below > sides.above) {
    plane.normal = -plane.normal;
    plane.distance = -plane.distance;
    std::swap(sides.above, sides.below);
  }
  return 10 * sides.above >= 8 * (sides.above + sides.below) && 10 * within >= 6 * rest.size() &&
         area_of(outline) > 1.2 * area_of(convex_outline(rest));
}

}  // namespace

Eigen::Vector2d Ground::on_plane(const Eigen::Vector3d& point) const {
  return {along_.dot(point), across_.dot(point)};
}

double Ground::soil(const Eigen::Vector2d& place) const {
  const Eigen::Array2d at = ((place - corner_) / cell_).array() - 0.5;
  const double x = std::clamp(at.x(), 0.0, columns_ - 1.0);
  const double y = std::clamp(at.y(), 0.0, rows_ - 1.0);
  const int column = std::min(static_cast<int>(x), std::max(columns_ - 2, 0));
  const int row = std::min(static_cast<int>(y), std::max(rows_ - 2, 0));
  const auto value = [this](int r, int c) {
    return soil_[static_cast<std::size_t>(std::min(r, rows_ - 1) * columns_ +
                                          std::min(c, columns_ - 1))];
  };
  const double fx = x - column;
  const double fy = y - row;
  return (1 - fy) * ((1 - fx) * value(row, column) + fx * value(row, column + 1)) +
         fy * ((1 - fx) * value(row + 1, column) + fx * value(row + 1, column + 1));
}

double Ground::height(const Eigen::Vector3d& stretched) const {
  const Eigen::Vector3d point = back_ ? *back_ * stretched : stretched;
  return up_.dot(point) - distance_ - soil(on_plane(point));
}

Ground Ground::stretched(const Eigen::Matrix3d& by) const {
  Ground ground = *this;
  ground.back_ = by.inverse();
  ground.facing_ = (ground.back_->transpose() * up_).normalized();
  return ground;
}

namespace {

/// The cells of the ground's grid while it is fitted.
struct CellHeights {
  int columns, rows;
  std::vector<std::vector<double>> points;  ///< heights over the plane, per cell
  std::vector<double> soil;                 ///< nan where not known

  bool holds(int row, int column) const {
    return row >= 0 && row < rows && column >= 0 && column < columns;
  }
  std::size_t slot(int row, int column) const {
    return static_cast<std::size_t>(row * columns + column);
  }
  /// Mean of the known cells around (and of the cell itself); nan where there are none.
  double around(const std::vector<double>& values, int row, int column) const {
    double sum = 0.0;
    int count = 0;
    for (int r = row - 1; r <= row + 1; ++r)
      for (int c = column - 1; c <= column + 1; ++c) {
        if (!holds(r, c) || std::isnan(values[slot(r, c)])) continue;
        sum += values[slot(r, c)];
        ++count;
      }
    return count > 0 ? sum / count : std::nan("");
  }
};

/// A low quantile of the cell's points within `band` of `guess`: log and grass stand above the
/// soil, nothing is below it.
double cell_soil(const std::vector<double>& heights, double guess, double band) {
  std::vector<double> near;
  for (const double h : heights)
    if (std::abs(h - guess) <= band) near.push_back(h);
  if (near.size() < 3) return std::nan("");
  return take_quantile(near, 0.4);
}

/// Lets the known soil spread from cell to cell, up and down with the land.
void spread_soil(CellHeights& cells, double band) {
  for (std::size_t i = 0; i < cells.soil.size(); ++i)
    cells.soil[i] = cell_soil(cells.points[i], 0.0, band);
  for (int round = 0; round < cells.columns + cells.rows; ++round) {
    bool changed = false;
    const std::vector<double> before = cells.soil;
    for (int row = 0; row < cells.rows; ++row)
      for (int column = 0; column < cells.columns; ++column) {
        const std::size_t i = cells.slot(row, column);
        const double guess = cells.around(before, row, column);
        if (!std::isnan(before[i]) || std::isnan(guess)) continue;
        cells.soil[i] = cell_soil(cells.points[i], guess, band);
        changed = changed || !std::isnan(cells.soil[i]);
      }
    if (!changed) break;
  }
}

/// Fills what nobody saw (under the log) from around, then smooths.
void fill_soil(CellHeights& cells) {
  for (int round = 0; round < cells.columns + cells.rows; ++round) {
    const std::vector<double> before = cells.soil;
    bool missing = false;
    for (int row = 0; row < cells.rows; ++row)
      for (int column = 0; column < cells.columns; ++column) {
        const std::size_t i = cells.slot(row, column);
        if (std::isnan(before[i])) cells.soil[i] = cells.around(before, row, column);
        missing = missing || std::isnan(cells.soil[i]);
      }
    if (!missing) break;
  }
  const std::vector<double> before = cells.soil;
  for (int row = 0; row < cells.rows; ++row)
    for (int column = 0; column < cells.columns; ++column) {
      const double mean = cells.around(before, row, column);
      cells.soil[cells.slot(row, column)] = std::isnan(mean) ? 0.0 : mean;
    }
}

}  // namespace

void Ground::fit(const Points& points, double band) {
  Eigen::Array2d low = Eigen::Array2d::Constant(1e300);
  Eigen::Array2d high = -low;
  for (const Eigen::Vector3f& point : points) {
    const Eigen::Vector2d place = on_plane(point.cast<double>());
    low = low.min(place.array());
    high = high.max(place.array());
  }
  corner_ = low;
  cell_ = std::max((high - low).maxCoeff() / 40.0, 3.0 * band);
  columns_ = static_cast<int>((high - low).x() / cell_) + 1;
  rows_ = static_cast<int>((high - low).y() / cell_) + 1;
  const auto count = static_cast<std::size_t>(columns_ * rows_);
  CellHeights cells{columns_, rows_, std::vector<std::vector<double>>(count),
                    std::vector<double>(count)};
  for (const Eigen::Vector3f& point : points) {
    const Eigen::Vector2d at = (on_plane(point.cast<double>()) - corner_) / cell_;
    cells.points[cells.slot(static_cast<int>(at.y()), static_cast<int>(at.x()))].push_back(
        up_.dot(point.cast<double>()) - distance_);
  }
  spread_soil(cells, band);
  fill_soil(cells);
  soil_ = cells.soil;
}

void Ground::measure(const Points& points, double leaf, double band) {
  std::vector<double> deviations;
  std::vector<Eigen::Vector3d> places;
  for (const Eigen::Vector3f& point : points) {
    const double over = height(point.cast<double>());
    if (std::abs(over) > band) continue;
    deviations.push_back(std::abs(over));
    const Eigen::Vector2d place = on_plane(point.cast<double>());
    places.emplace_back(place.x(), place.y(), 0.0);
  }
  if (places.empty()) return;
  roughness_ = 1.4826 * take_quantile(deviations);
  reach_ = std::clamp(3.0 * roughness_, 0.8 * leaf, band);
  const Eigen::Vector3d size = robust_extent(places).size();
  length_ = std::max(size.x(), size.y());
  width_ = std::min(size.x(), size.y());
}

std::optional<Ground> find_ground(const Points& points, double leaf, const Eigen::Vector3d* up) {
  const double band = std::max(1.5 * leaf, 0.008 * robust_extent(points).size().norm());
  Plane plane = find_plane(points, band, up);
  if (!plane.found || !is_ground_like(points, band, axes_of(plane.normal), plane))
    return std::nullopt;
  if (up && plane.normal.dot(*up) < 0.0) return std::nullopt;
  Ground ground;
  ground.up_ = ground.facing_ = plane.normal;
  ground.distance_ = plane.distance;
  ground.along_ = axes_of(plane.normal).along;
  ground.across_ = axes_of(plane.normal).across;
  ground.fit(points, band);
  ground.measure(points, leaf, band);
  return ground;
}

}  // namespace kerfwright
