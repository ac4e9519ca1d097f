#include "leaning.hpp"

#include <algorithm>
#include <cmath>
#include <limits>

#include "lane_marks.hpp"

namespace kerfwright::saw {
namespace {

constexpr double lean_step = 1e-4;  // a tenth of a mm per m
constexpr Unit no_left = std::numeric_limits<Unit>::max();
constexpr Unit no_right = std::numeric_limits<Unit>::min();

Unit saturated(double units) {
  return static_cast<Unit>(
      std::clamp(units, static_cast<double>(no_right), static_cast<double>(no_left)));
}

/// Both edges in the middle of the cells that hold wood, mm.
struct Edges {
  std::vector<double> x, left, right;
};

Edges edges_of(const FlitchWood& wood, const std::vector<double>& border, int first, int last) {
  Edges edges;
  for (int c = first; c <= last; ++c) {
    const auto i = static_cast<std::size_t>(c);
    const int left = wood.outer.left.at[i];
    const int right = wood.outer.right.at[i];
    if (left >= right) continue;
    edges.x.push_back(0.5 * (border[i] + border[i + 1]));
    edges.left.push_back(static_cast<double>(left) / units_per_mm);
    edges.right.push_back(static_cast<double>(right) / units_per_mm);
  }
  return edges;
}

double slope_of(const std::vector<double>& x, const std::vector<double>& y) {
  const auto n = static_cast<double>(x.size());
  double mean_x = 0.0;
  double mean_y = 0.0;
  for (std::size_t i = 0; i < x.size(); ++i) {
    mean_x += x[i] / n;
    mean_y += y[i] / n;
  }
  double xx = 0.0;
  double xy = 0.0;
  for (std::size_t i = 0; i < x.size(); ++i) {
    xx += (x[i] - mean_x) * (x[i] - mean_x);
    xy += (x[i] - mean_x) * (y[i] - mean_y);
  }
  return xx > 0.0 ? xy / xx : 0.0;
}

double clear_width(const Edges& edges, double lean) {
  double left = -1e9;
  double right = 1e9;
  for (std::size_t i = 0; i < edges.x.size(); ++i) {
    left = std::max(left, edges.left[i] - lean * edges.x[i]);
    right = std::min(right, edges.right[i] - lean * edges.x[i]);
  }
  return right - left;
}

/// The clear width is concave in the lean, so that thirds find its top.
double widest_lean(const Edges& edges) {
  double low = -most_lean;
  double high = most_lean;
  while (high - low > 0.5 * lean_step) {
    const double third = (high - low) / 3.0;
    if (clear_width(edges, low + third) < clear_width(edges, high - third)) {
      low += third;
    } else {
      high -= third;
    }
  }
  return 0.5 * (low + high);
}

/// What a border's section allows is no less than what either of its cells does; between two
/// sections edges are taken to be straight.
void lean_rows(const Interval& rows, const FlitchWood& wood, const std::vector<double>& border,
               double turn, double scale, double spare, bool exact_cells, Interval& out) {
  const auto cells = static_cast<int>(border.size()) - 1;
  const auto at_border = [&](int cell, int side, bool left) {
    const auto here = static_cast<std::size_t>(cell);
    const int other = side == 0 ? cell - 1 : cell + 1;
    const double own = left ? rows.left.at[here] : rows.right.at[here];
    if (!exact_cells || other < wood.first_cell || other > wood.last_cell || other >= cells)
      return own;
    const auto beside = static_cast<std::size_t>(other);
    return left ? std::min<double>(own, rows.left.at[beside])
                : std::max<double>(own, rows.right.at[beside]);
  };
  for (int c = 0; c < cells; ++c) {
    const auto i = static_cast<std::size_t>(c);
    if (rows.left.at[i] > rows.right.at[i]) {
      out.left.at[i] = no_left;
      out.right.at[i] = no_right;
      continue;
    }
    const double near = turn * border[i] * units_per_mm;
    const double far = turn * border[i + 1] * units_per_mm;
    const double left = std::max(at_border(c, 0, true) - near, at_border(c, 1, true) - far);
    const double right = std::min(at_border(c, 0, false) - near, at_border(c, 1, false) - far);
    out.left.at[i] = saturated(std::ceil(left / scale + spare * units_per_mm));
    out.right.at[i] = saturated(std::floor(right / scale - spare * units_per_mm));
  }
}

/// A lane must reach the heart wherever it lies in the cell.
void lean_heart(const FlitchWood& wood, const std::vector<double>& border, double turn,
                double scale, Interval& heart) {
  for (std::size_t i = 0; i + 1 < border.size(); ++i) {
    const int left = wood.heart.left.at[i];
    const int right = wood.heart.right.at[i];
    if (left == no_left && right == no_right) continue;
    const double near = turn * border[i] * units_per_mm;
    const double far = turn * border[i + 1] * units_per_mm;
    heart.left.at[i] = saturated(std::ceil((left - std::min(near, far)) / scale));
    heart.right.at[i] = saturated(std::floor((right - std::max(near, far)) / scale));
  }
}

void blank(Interval& rows, int first, int last) {
  for (std::size_t i = 0; i < max_cells; ++i) {
    if (static_cast<int>(i) >= first && static_cast<int>(i) <= last) continue;
    rows.left.at[i] = no_left;
    rows.right.at[i] = no_right;
  }
}

std::shared_ptr<const FlitchMarks> scaled(std::shared_ptr<const FlitchMarks> marks, double scale) {
  if (!marks || scale == 1.0) return marks;
  auto made = std::make_shared<FlitchMarks>(*marks);
  const auto shrink = [&](auto& stretches) {
    for (auto& stretch : stretches) {
      stretch.left = static_cast<int>(std::floor(stretch.left / scale));
      stretch.right = static_cast<int>(std::ceil(stretch.right / scale));
    }
  };
  shrink(made->touches);
  shrink(made->metal);
  shrink(made->harmful);
  shrink(made->any);
  return made;
}

}  // namespace

int nearest_border(const std::vector<double>& border, double x) {
  const auto after = std::lower_bound(border.begin(), border.end(), x);
  const auto place = static_cast<int>(after - border.begin());
  if (place == 0) return 0;
  const bool nearer = after == border.end() || x - *(after - 1) < *after - x;
  return nearer ? place - 1 : place;
}

std::vector<double> leans_of(const FlitchWood& wood, const std::vector<double>& border, int first,
                             int last) {
  std::vector<double> leans = {0.0};
  const Edges edges = edges_of(wood, border, first, last);
  if (edges.x.size() < 2) return leans;
  const double left = slope_of(edges.x, edges.left);
  const double right = slope_of(edges.x, edges.right);
  for (const double wish : {0.5 * (left + right), widest_lean(edges), left, right}) {
    const double lean =
        lean_step *
        std::round(std::clamp(wish, -most_lean - wood.lean, most_lean - wood.lean) / lean_step);
    if (std::find(leans.begin(), leans.end(), lean) == leans.end()) leans.push_back(lean);
  }
  return leans;
}

Segment segment_of(const FlitchClass& flitch, const FlitchWood& wood,
                   const std::vector<double>& border, int first, int last, double turn, double room,
                   double spare, bool exact_cells, const MarksAt& marks) {
  Segment segment;
  segment.first_cell = first;
  segment.last_cell = last;
  segment.wood = wood;
  segment.border = border;
  if (turn != 0.0) {
    segment.wood.lean = wood.lean + turn;
    segment.scale = std::hypot(1.0, segment.wood.lean);
    lean_rows(wood.outer, wood, border, turn, segment.scale, spare, exact_cells,
              segment.wood.outer);
    for (std::size_t i = 0; i < flitch.wanes.size(); ++i) {
      lean_rows(wood.inner[i], wood, border, turn, segment.scale, spare, exact_cells,
                segment.wood.inner[i]);
    }
    if (flitch.boxes_heart) lean_heart(wood, border, turn, segment.scale, segment.wood.heart);
    if (wood.marks && marks) segment.wood.marks = scaled(marks(segment.wood.lean), segment.scale);
    for (double& x : segment.border) x *= segment.scale;
  }
  if (first == wood.first_cell && last == wood.last_cell) return segment;
  segment.wood.first_cell = first;
  segment.wood.last_cell = last;
  blank(segment.wood.outer, first, last);
  for (std::size_t i = 0; i < flitch.wanes.size(); ++i) {
    blank(segment.wood.inner[i], first, last);
  }
  const auto from = static_cast<std::size_t>(first);
  const auto to = static_cast<std::size_t>(last) + 1;
  if (first > wood.first_cell) {
    segment.border[from] = std::min(segment.border[from] + room, segment.border[from + 1]);
  }
  if (last < wood.last_cell) {
    segment.border[to] = std::max(segment.border[to] - room, segment.border[to - 1]);
  }
  return segment;
}

}  // namespace kerfwright::saw
