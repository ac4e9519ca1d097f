#include "kerfwright/shape/bumps.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdio>
#include <numbers>
#include <optional>

#include "hidden_part.hpp"
#include "kerfwright/shape/mark_geometry.hpp"
#include "kerfwright/shape/section.hpp"
#include "robust.hpp"
#include "text_line.hpp"

namespace kerfwright {
namespace {

constexpr double least_height = 4.0;  // mm
constexpr double least_sigmas = 3.0;
constexpr double least_diameter = 12.0;    // mm, finer than that is bark
constexpr double longest_to_widest = 3.0;  // a ridge, not a bump
constexpr double widest_turn = 1.0 / 3.0;  // of the girth: a flare, not a bump

/// Heights over the smooth surface, mm, by station and angle.
using Relief = std::vector<std::vector<double>>;

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
Relief over_neighbours_along(const LogShape& shape, double reach) {
  const auto angles = static_cast<std::size_t>(shape.angles);
  Relief relief(shape.stations.size(), std::vector<double>(angles));
  std::size_t from = 0, to = 0;
  for (std::size_t i = 0; i < shape.stations.size(); ++i) {
    while (shape.stations[i] - shape.stations[from] > reach) ++from;
    while (to < shape.stations.size() && shape.stations[to] - shape.stations[i] <= reach) ++to;
    for (std::size_t j = 0; j < angles; ++j) {
      std::vector<double> near;
      for (std::size_t k = from; k < to; ++k)
        near.push_back(static_cast<double>(shape.radius[k][j]));
      relief[i][j] = static_cast<double>(shape.radius[i][j]) - median(std::move(near));
    }
  }
  return relief;
}

/// The same less the median round the girth, up to `share` of a turn to each side.
Relief over_neighbours_round(const Relief& relief, double share) {
  Relief result = relief;
  for (std::size_t i = 0; i < relief.size(); ++i) {
    const auto angles = static_cast<int>(relief[i].size());
    const int reach = static_cast<int>(share * angles);
    for (int j = 0; j < angles; ++j) {
      std::vector<double> near;
      for (int k = -reach; k <= reach; ++k) {
        near.push_back(relief[i][static_cast<std::size_t>((j + k + angles) % angles)]);
      }
      result[i][static_cast<std::size_t>(j)] -= median(std::move(near));
    }
  }
  return result;
}

struct Cell {
  std::size_t i, j;
};

/// Cells joined to the first one that `belongs` accepts; they are marked in `taken`.
template <class Belongs>
std::vector<Cell> grown(const Relief& relief, std::vector<std::vector<char>>& taken, Cell first,
                        Belongs belongs) {
  std::vector<Cell> cells{first};
  taken[first.i][first.j] = 1;
  for (std::size_t next = 0; next < cells.size(); ++next) {
    const Cell at = cells[next];
    const std::size_t angles = relief[at.i].size();
    const auto visit = [&](std::size_t i, std::size_t j) {
      if (i >= relief.size() || taken[i][j] != 0 || !belongs(Cell{i, j})) return;
      taken[i][j] = 1;
      cells.push_back({i, j});
    };
    visit(at.i, (at.j + 1) % angles);
    visit(at.i, (at.j + angles - 1) % angles);
    visit(at.i + 1, at.j);
    if (at.i > 0) visit(at.i - 1, at.j);
  }
  return cells;
}

/// What is higher than half of the highest cell.
struct Extent {
  double area = 0;              // mm2
  double along = 0, round = 0;  // mm
  double turn = 0;              // share of the girth
};

Extent extent_of(const LogShape& shape, const Relief& relief, const std::vector<Cell>& cells,
                 const Cell& top) {
  Extent extent;
  double first = 1e9, last = -1e9;
  std::vector<char> columns(static_cast<std::size_t>(shape.angles), 0);
  for (const Cell& cell : cells) {
    if (relief[cell.i][cell.j] < 0.5 * relief[top.i][top.j]) continue;
    const double half = 0.5 * stretch_of(shape, cell.i);
    const double width =
        2.0 * std::numbers::pi / shape.angles * static_cast<double>(shape.radius[cell.i][cell.j]);
    extent.area += 2.0 * half * width;
    first = std::min(first, shape.stations[cell.i] - half);
    last = std::max(last, shape.stations[cell.i] + half);
    columns[cell.j] = 1;
  }
  extent.along = last - first;
  extent.turn = static_cast<double>(std::count(columns.begin(), columns.end(), 1)) / shape.angles;
  extent.round =
      2.0 * std::numbers::pi * extent.turn * static_cast<double>(shape.radius[top.i][top.j]);
  return extent;
}

/// The cells as a bump; empty where they are too small, a flare or a ridge.
std::optional<Bump> bump_of(const LogShape& shape, const Relief& relief,
                            const std::vector<Cell>& cells, double radius) {
  const Cell top = *std::max_element(cells.begin(), cells.end(), [&](const Cell& a, const Cell& b) {
    return relief[a.i][a.j] < relief[b.i][b.j];
  });
  const Extent extent = extent_of(shape, relief, cells, top);
  const double diameter = std::sqrt(4.0 * extent.area / std::numbers::pi);
  const bool ridge = extent.along > longest_to_widest * extent.round && extent.along > radius;
  if (diameter < least_diameter || extent.turn > widest_turn || ridge) return std::nullopt;
  const double angle = 2.0 * std::numbers::pi * static_cast<double>(top.j) / shape.angles;
  return Bump{shape.stations[top.i], clock_hours({std::cos(angle), std::sin(angle)}), diameter,
              relief[top.i][top.j], std::max(extent.along, extent.round) > radius};
}

std::string fixed(double value, int decimals) {
  std::array<char, 40> text{};
  std::snprintf(text.data(), text.size(), "%.*f", decimals, value);
  return text.data();
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
  const double radius = mean_radius(shape);
  const Relief relief =
      over_neighbours_round(over_neighbours_along(shape, std::max(200.0, 2.0 * radius)), 0.2);
  const auto stands_out = [&](const Cell& cell) {
    const double sigma = static_cast<double>(shape.sigma[cell.i][cell.j]);
    return shape.seen[cell.i][cell.j] != 0 &&
           relief[cell.i][cell.j] > std::max(least_height, least_sigmas * sigma);
  };
  std::vector<std::vector<char>> taken(
      relief.size(), std::vector<char>(static_cast<std::size_t>(shape.angles), 0));
  std::vector<Bump> bumps;
  for (std::size_t i = 0; i < relief.size(); ++i) {
    for (std::size_t j = 0; j < relief[i].size(); ++j) {
      if (taken[i][j] != 0 || !stands_out({i, j})) continue;
      const auto bump = bump_of(shape, relief, grown(relief, taken, {i, j}, stands_out), radius);
      if (bump) bumps.push_back(*bump);
    }
  }
  std::stable_sort(bumps.begin(), bumps.end(),
                   [](const Bump& a, const Bump& b) { return a.x < b.x; });
  return bumps;
}

std::string describe(const std::vector<Bump>& bumps) {
  if (bumps.empty()) return "";
  std::string text = text_line("Bumps     from butt   o'clock   diameter   height   mm");
  for (const Bump& bump : bumps) {
    text += text_line("         %9.0f   %7s   %8.0f   %6.0f   %s", bump.x,
                      clock_text(bump.clock).c_str(), bump.diameter, bump.height,
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

std::vector<Knot> proposed_knots(const LogShape& shape) {
  std::vector<Knot> knots;
  for (const Bump& bump : find_bumps(shape)) {
    if (!bump.is_burl) knots.push_back(knot_under(shape, bump));
  }
  return knots;
}

std::string proposed_marks(const LogShape& shape, const std::string& name) {
  std::string text =
      "# What stands out of the surface of " + name +
      ".\n# Look at each, change what is otherwise and take out what is no knot.\n"
      "# Clock positions are seen from the butt, 12 is up as the log lay when scanned.\n";
  for (const Bump& bump : find_bumps(shape)) {
    text += bump.is_burl ? burl_text(shape, bump) : knot_text(bump);
  }
  return text;
}

}  // namespace kerfwright
