#include "kerfwright/shape/bumps.hpp"

#include <Eigen/LU>
#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>
#include <optional>

#include "hidden_part.hpp"
#include "kerfwright/fixed.hpp"
#include "kerfwright/shape/mark_geometry.hpp"
#include "kerfwright/shape/section.hpp"
#include "kerfwright/trade/inches.hpp"
#include "robust.hpp"
#include "text_line.hpp"
#include "trade/words.hpp"

namespace kerfwright {
namespace {

constexpr double least_height = 4.0;  // mm
constexpr double least_sigmas = 3.0;
constexpr double sure_sigmas = 4.5;        // of the highest cell
constexpr double least_diameter = 12.0;    // mm, finer than that is bark
constexpr double longest_to_widest = 3.0;  // a ridge, not a bump
constexpr double from_ends = 60.0;         // mm
constexpr double least_points = 4;         // of a cell
constexpr double widest_turn = 1.0 / 3.0;  // of the girth: a flare, not a bump

using Rows = std::vector<std::vector<double>>;

/// Heights over the smooth surface on a grid of cells along and round the log.
struct Relief {
  std::vector<double> x;               ///< mm, middle of each row of cells
  std::vector<double> length;          ///< mm, of each row along the log
  Rows height;                         ///< [row][cell] mm
  Rows error;                          ///< one standard deviation of it
  std::vector<std::vector<char>> out;  ///< whether it stands out
  double radius = 0;                   ///< mm, mean of the log
  double offset = 0;                   ///< of a cell's middle from its number, in cells

  std::size_t cells() const { return height.front().size(); }
  double width() const { return 2.0 * std::numbers::pi * radius / static_cast<double>(cells()); }
};

double mean_radius(const LogShape& shape) {
  double sum = 0, count = 0;
  for (const auto& row : shape.radius) {
    for (const float r : row) sum += static_cast<double>(r);
    count += static_cast<double>(row.size());
  }
  return sum / count;
}

/// How much of the log's length a station stands for, mm.
double stretch_of(const LogShape& shape, std::size_t i) {
  const auto& x = shape.stations;
  const double before = i > 0 ? x[i] - x[i - 1] : 0.0;
  const double after = i + 1 < x.size() ? x[i + 1] - x[i] : 0.0;
  return 0.5 * (before + after);
}

/// Radius less the median of the radii at the same angle up to `reach` mm away.
Rows over_neighbours_along(const LogShape& shape, double reach) {
  const auto angles = static_cast<std::size_t>(shape.angles);
  Rows rows(shape.stations.size(), std::vector<double>(angles));
  std::size_t from = 0, to = 0;
  for (std::size_t i = 0; i < shape.stations.size(); ++i) {
    while (shape.stations[i] - shape.stations[from] > reach) ++from;
    while (to < shape.stations.size() && shape.stations[to] - shape.stations[i] <= reach) ++to;
    for (std::size_t j = 0; j < angles; ++j) {
      std::vector<double> near;
      for (std::size_t k = from; k < to; ++k) {
        near.push_back(static_cast<double>(shape.radius[k][j]));
      }
      rows[i][j] = static_cast<double>(shape.radius[i][j]) - median(std::move(near));
    }
  }
  return rows;
}

/// The same less the median round the girth, up to `share` of a turn to each side.
Rows over_neighbours_round(const Rows& rows, double share) {
  Rows result = rows;
  for (std::size_t i = 0; i < rows.size(); ++i) {
    const auto angles = static_cast<int>(rows[i].size());
    const int reach = static_cast<int>(share * angles);
    for (int j = 0; j < angles; ++j) {
      std::vector<double> near;
      for (int k = -reach; k <= reach; ++k) {
        near.push_back(rows[i][static_cast<std::size_t>((j + k + angles) % angles)]);
      }
      result[i][static_cast<std::size_t>(j)] -= median(std::move(near));
    }
  }
  return result;
}

/// The fitted surface over the smooth one.
Relief relief_of(const LogShape& shape) {
  Relief relief;
  relief.radius = mean_radius(shape);
  relief.x = shape.stations;
  relief.height = over_neighbours_round(
      over_neighbours_along(shape, std::max(200.0, 2.0 * relief.radius)), 0.2);
  for (std::size_t i = 0; i < relief.x.size(); ++i) {
    relief.length.push_back(stretch_of(shape, i));
    relief.out.emplace_back(relief.height[i].size(), 0);
    relief.error.emplace_back(shape.sigma[i].begin(), shape.sigma[i].end());
    for (std::size_t j = 0; j < relief.height[i].size(); ++j) {
      const double sure = least_sigmas * static_cast<double>(shape.sigma[i][j]);
      relief.out[i][j] =
          shape.seen[i][j] != 0 && relief.height[i][j] > std::max(least_height, sure) ? 1 : 0;
    }
  }
  return relief;
}

/// A point of the bark as height over the smooth surface at a place of it.
struct Height {
  double x, turn, height;
};

/// `smooth` is what relief_of found: the fitted surface less it is the smooth one.
std::vector<Height> heights_of(const LogShape& shape, const Relief& smooth,
                               const std::vector<Eigen::Vector3f>& points) {
  constexpr double lowest = -40.0, highest = 150.0;  // mm: nothing else belongs to the bark
  std::vector<Height> heights;
  for (const auto& point : points) {
    const double x = static_cast<double>(point.x());
    if (x <= 0.0 || x >= shape.length()) continue;
    const Eigen::Vector2d arm = point.tail<2>().cast<double>() - axis_at(shape, x);
    const double turns = std::atan2(arm.y(), arm.x()) / (2.0 * std::numbers::pi);
    const double turn = turns - std::floor(turns);
    const auto i = std::min<std::size_t>(
        shape.stations.size() - 1,
        static_cast<std::size_t>(std::lower_bound(shape.stations.begin(), shape.stations.end(), x) -
                                 shape.stations.begin()));
    const auto j = static_cast<std::size_t>(std::lround(turn * shape.angles)) %
                   static_cast<std::size_t>(shape.angles);
    const double height =
        arm.norm() - (static_cast<double>(shape.radius[i][j]) - smooth.height[i][j]);
    if (height > lowest && height < highest) heights.push_back({x, turn, height});
  }
  return heights;
}

/// The heights that lie in each cell.
using Cells = std::vector<std::vector<std::vector<double>>>;

Cells sorted_in(const std::vector<Height>& heights, double cell, std::size_t rows,
                std::size_t columns) {
  Cells cells(rows, std::vector<std::vector<double>>(columns));
  for (const Height& h : heights) {
    const auto i = std::min(rows - 1, static_cast<std::size_t>(h.x / cell));
    const auto j = static_cast<std::size_t>(h.turn * static_cast<double>(columns)) % columns;
    cells[i][j].push_back(h.height);
  }
  return cells;
}

double noise_of(const std::vector<Height>& heights) {
  std::vector<double> sizes;
  for (const Height& h : heights) sizes.push_back(std::abs(h.height));
  return sigma_of_mad * median(std::move(sizes));
}

/// The points over the smooth surface, in cells that hold about eight of them.
Relief relief_of(const LogShape& shape, const Relief& smooth, const std::vector<Height>& heights) {
  const double girth = 2.0 * std::numbers::pi * smooth.radius;
  const double a_point =
      shape.length() * girth / static_cast<double>(std::max<std::size_t>(1, heights.size()));
  const double cell = std::clamp(std::sqrt(8.0 * a_point), 12.0, 40.0);
  const auto rows = static_cast<std::size_t>(std::ceil(shape.length() / cell));
  const auto columns = static_cast<std::size_t>(std::ceil(girth / cell));
  Cells cells = sorted_in(heights, cell, rows, columns);
  const double noise = noise_of(heights);
  Relief relief;
  relief.radius = smooth.radius;
  relief.offset = 0.5;
  relief.height.assign(rows, std::vector<double>(columns, 0.0));
  relief.error = relief.height;
  relief.out.assign(rows, std::vector<char>(columns, 0));
  relief.length.assign(rows, cell);
  for (std::size_t i = 0; i < rows; ++i) {
    relief.x.push_back((static_cast<double>(i) + 0.5) * cell);
    for (std::size_t j = 0; j < columns; ++j) {
      const auto count = static_cast<double>(cells[i][j].size());
      if (count < least_points) continue;
      relief.height[i][j] = median(std::move(cells[i][j]));
      // The error of a median is 1.25 times that of a mean.
      relief.error[i][j] = 1.25 * noise / std::sqrt(count);
      const double sure = least_sigmas * relief.error[i][j];
      relief.out[i][j] = relief.height[i][j] > std::max(least_height, sure) ? 1 : 0;
    }
  }
  return relief;
}

struct Cell {
  std::size_t i, j;
};

/// Cells that stand out and are joined to the first one; they are taken from `left`.
std::vector<Cell> grown(std::vector<std::vector<char>>& left, const Cell& first) {
  std::vector<Cell> cells{first};
  left[first.i][first.j] = 0;
  for (std::size_t next = 0; next < cells.size(); ++next) {
    const Cell at = cells[next];
    const std::size_t columns = left[at.i].size();
    const auto visit = [&](std::size_t i, std::size_t j) {
      if (i >= left.size() || left[i][j] == 0) return;
      left[i][j] = 0;
      cells.push_back({i, j});
    };
    visit(at.i, (at.j + 1) % columns);
    visit(at.i, (at.j + columns - 1) % columns);
    visit(at.i + 1, at.j);
    if (at.i > 0) visit(at.i - 1, at.j);
  }
  return cells;
}

/// What is higher than half of the highest cell.
struct Extent {
  double area = 0;              ///< mm2
  double along = 0, round = 0;  ///< mm
};

Extent extent_of(const Relief& relief, const std::vector<Cell>& cells, const Cell& top) {
  Extent extent;
  double first = 1e9, last = -1e9;
  std::vector<char> columns(relief.cells(), 0);
  for (const Cell& cell : cells) {
    if (relief.height[cell.i][cell.j] < 0.5 * relief.height[top.i][top.j]) continue;
    extent.area += relief.length[cell.i] * relief.width();
    first = std::min(first, relief.x[cell.i] - 0.5 * relief.length[cell.i]);
    last = std::max(last, relief.x[cell.i] + 0.5 * relief.length[cell.i]);
    columns[cell.j] = 1;
  }
  extent.along = last - first;
  extent.round =
      relief.width() * static_cast<double>(std::count(columns.begin(), columns.end(), 1));
  return extent;
}

/// The cells as a bump; empty where they are too small, a flare or a ridge, or stand at an end,
/// where a flare and flutes cannot be told from a bump.
std::optional<Bump> bump_of(const Relief& relief, const std::vector<Cell>& cells, double length) {
  const Cell top = *std::max_element(cells.begin(), cells.end(), [&](const Cell& a, const Cell& b) {
    return relief.height[a.i][a.j] < relief.height[b.i][b.j];
  });
  // One cell of the thousands is often three sigmas off by chance; two neighbours are not.
  const double height = relief.height[top.i][top.j];
  if (height < sure_sigmas * relief.error[top.i][top.j] || cells.size() < 2) return std::nullopt;
  const double x = relief.x[top.i];
  if (x < from_ends || x > length - from_ends) return std::nullopt;
  const Extent extent = extent_of(relief, cells, top);
  const double diameter = std::sqrt(4.0 * extent.area / std::numbers::pi);
  const bool ridge =
      extent.along > longest_to_widest * extent.round && extent.along > relief.radius;
  const bool flare = extent.round > 2.0 * std::numbers::pi * relief.radius * widest_turn;
  if (diameter < least_diameter || ridge || flare) return std::nullopt;
  const double turn = relief.width() / relief.radius * (static_cast<double>(top.j) + relief.offset);
  return Bump{x, clock_hours({std::cos(turn), std::sin(turn)}), diameter, height,
              std::max(extent.along, extent.round) > relief.radius};
}

std::vector<Bump> bumps_of(const Relief& relief, double length) {
  std::vector<std::vector<char>> left = relief.out;
  std::vector<Bump> bumps;
  for (std::size_t i = 0; i < left.size(); ++i) {
    for (std::size_t j = 0; j < left[i].size(); ++j) {
      if (left[i][j] == 0) continue;
      const auto bump = bump_of(relief, grown(left, {i, j}), length);
      if (bump) bumps.push_back(*bump);
    }
  }
  std::stable_sort(bumps.begin(), bumps.end(),
                   [](const Bump& a, const Bump& b) { return a.x < b.x; });
  return bumps;
}

/// Cells are coarse for a stub: the share of the points around that are higher than half of it.
double finer_diameter(const Bump& bump, const std::vector<Height>& heights, double radius) {
  const double around = std::max(40.0, 1.2 * bump.diameter);
  double all = 0, high = 0;
  for (const Height& h : heights) {
    const Eigen::Vector2d arm(std::cos(2.0 * std::numbers::pi * h.turn),
                              std::sin(2.0 * std::numbers::pi * h.turn));
    const double hours = std::remainder(clock_hours(arm) - bump.clock, 12.0);
    const double off = std::hypot(h.x - bump.x, hours / 12.0 * 2.0 * std::numbers::pi * radius);
    if (off > around) continue;
    all += 1.0;
    high += h.height > 0.5 * bump.height ? 1.0 : 0.0;
  }
  return high > 0.0 ? 2.0 * around * std::sqrt(high / all) : bump.diameter;
}

std::string knot_text(const Bump& bump) {
  return "\n# " + fixed(bump.height, 0) + " mm high\n[[knot]]\nfrom_butt = " + fixed(bump.x, 0) +
         "\nclock = " + fixed(bump.clock, 1) + "\nsize = " + fixed(bump.diameter, 0) + "\n";
}

/// As a comment: whether a burl fetches more, nobody but the person knows.
std::string burl_text(const LogShape& shape, const Bump& bump) {
  const double half = 0.5 * bump.diameter;
  const double hours = 12.0 * half / (2.0 * std::numbers::pi * mean_radius(shape));
  return "\n# A swelling " + fixed(bump.height, 0) +
         " mm high; if it is a burl that fetches more:\n# [[figure]]\n# name = \"burl\"\n"
         "# from_butt = " +
         fixed(std::max(0.0, bump.x - half), 0) +
         "\n# to_butt = " + fixed(std::min(shape.length(), bump.x + half), 0) +
         "\n# clock_from = " + fixed(std::fmod(bump.clock - hours + 12.0, 12.0), 1) +
         "\n# clock_to = " + fixed(std::fmod(bump.clock + hours, 12.0), 1) + "\n";
}

}  // namespace

std::vector<Bump> find_bumps(const LogShape& shape) {
  return bumps_of(relief_of(shape), shape.length());
}

std::vector<Bump> find_bumps(const LogShape& shape, const std::vector<Eigen::Vector3f>& points) {
  if (points.empty()) return find_bumps(shape);
  const Relief smooth = relief_of(shape);
  const std::vector<Height> heights = heights_of(shape, smooth, points);
  std::vector<Bump> bumps = bumps_of(relief_of(shape, smooth, heights), shape.length());
  for (Bump& bump : bumps) bump.diameter = finer_diameter(bump, heights, smooth.radius);
  return bumps;
}

std::vector<Eigen::Vector3f> bark_points(const Scan& scan, const std::vector<PointLabel>& labels,
                                         const LogShape& shape) {
  std::vector<Eigen::Vector3f> points;
  if (labels.size() != scan.points.size()) return points;
  const Eigen::Matrix4d to_log = shape.scan_to_log * scan.file_to_scan.inverse();
  for (std::size_t i = 0; i < labels.size(); ++i) {
    if (labels[i] != PointLabel::log && labels[i] != PointLabel::branch) continue;
    const Eigen::Vector3d p = scan.points[i].cast<double>();
    points.push_back(
        (to_log.topLeftCorner<3, 3>() * p + to_log.topRightCorner<3, 1>()).cast<float>());
  }
  return points;
}

std::string describe(const std::vector<Bump>& bumps, bool inches) {
  if (bumps.empty()) return "";
  std::string text =
      text_line("Bumps     from butt   o'clock   diameter   height   %s", inches ? "in" : "mm");
  const auto told = [&](double mm) { return inches ? inch_text(mm) : fixed(mm, 0); };
  for (const Bump& bump : bumps) {
    text += text_line("         %9s   %7s   %8s   %6s   %s", told(bump.x).c_str(),
                      half_hour_text(bump.clock).c_str(), told(bump.diameter).c_str(),
                      told(bump.height).c_str(),
                      bump.is_burl ? "a swelling, perhaps a burl" : "perhaps a knot");
  }
  return text;
}

Knot knot_under(const LogShape& shape, const Bump& bump) {
  const Eigen::Vector2d direction = clock_direction(bump.clock);
  const Eigen::Vector2d near = axis_at(shape, bump.x) + direction;  // 1 mm from the axis
  const double radius = 1.0 + depth_inside(shape, {bump.x, near.x(), near.y()}, Bark::on);
  const Eigen::Vector2d at_bark = axis_at(shape, bump.x) + (radius - bump.height) * direction;
  const Eigen::Vector2d at_pith = PithLine(shape).at(bump.x);
  const auto place = [&](const Eigen::Vector2d& yz) -> Eigen::Vector3d {
    return (Eigen::Vector3d(bump.x, yz.x(), yz.y()) * 100.0).array().round() / 100.0;
  };
  return {place(at_bark), place(at_pith), std::round(bump.diameter), true};
}

std::vector<Knot> proposed_knots(const LogShape& shape, const std::vector<Bump>& bumps) {
  std::vector<Knot> knots;
  for (const Bump& bump : bumps) {
    if (!bump.is_burl) knots.push_back(knot_under(shape, bump));
  }
  return knots;
}

std::string proposed_marks(const LogShape& shape, const std::vector<Bump>& bumps,
                           const std::string& name) {
  std::string text =
      "# What stands out of the surface of " + one_line(name) +
      ".\n# Look at each, change what is otherwise and take out what is no knot.\n"
      "# Clock positions are seen from the butt, 12 is up as the log lay when scanned.\n";
  for (const Bump& bump : bumps) text += bump.is_burl ? burl_text(shape, bump) : knot_text(bump);
  return text;
}

}  // namespace kerfwright
