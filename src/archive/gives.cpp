#include "gives.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

namespace kerfwright {
namespace {

constexpr int most_starts = 9;        // stretches of the log that are tried
constexpr double start_step = 100.0;  // mm between them, where the log is short

/// A straight line along the log, by its place at each station.
struct Line {
  std::size_t first = 0, last = 0;  ///< stations of the stretch
  double y = 0, z = 0;              ///< at the first
  double dy = 0, dz = 0;            ///< from station to station
};

/// The straight line through the middle of the band that holds the axis from `first` to `last`.
void fit_side(const std::vector<float>& axis, const Line& line, double& place, double& slope) {
  const auto count = static_cast<double>(line.last - line.first + 1);
  double mean = 0, moment = 0, spread = 0;
  for (std::size_t i = line.first; i <= line.last; ++i) mean += axis[i] / count;
  for (std::size_t i = line.first; i <= line.last; ++i) {
    const double t = static_cast<double>(i - line.first) - 0.5 * (count - 1.0);
    moment += t * (axis[i] - mean);
    spread += t * t;
  }
  slope = spread > 0.0 ? moment / spread : 0.0;
  place = mean - slope * 0.5 * (count - 1.0);
  double low = 0, high = 0;
  for (std::size_t i = line.first; i <= line.last; ++i) {
    const double aside = axis[i] - (place + slope * static_cast<double>(i - line.first));
    low = i == line.first ? aside : std::min(low, aside);
    high = i == line.first ? aside : std::max(high, aside);
  }
  place += 0.5 * (low + high);
}

/// The stations that a piece of `length` that starts `from` mm along the log has about it, those
/// just beyond its ends too.
Line stretch(const Sketch& sketch, double from, double length) {
  const double step = sketch.length / (sketch.stations - 1);
  Line line;
  line.first = static_cast<std::size_t>(std::max(0.0, std::floor(from / step + 1e-9)));
  line.last = std::min(static_cast<std::size_t>(std::ceil((from + length) / step - 1e-9)),
                       sketch.axis_y.size() - 1);
  fit_side(sketch.axis_y, line, line.y, line.dy);
  fit_side(sketch.axis_z, line, line.z, line.dz);
  return line;
}

struct Directions {
  std::vector<double> cosine, sine;
  explicit Directions(int count) {
    for (int j = 0; j < count; ++j) {
      cosine.push_back(std::cos(2.0 * std::numbers::pi * j / count));
      sine.push_back(std::sin(2.0 * std::numbers::pi * j / count));
    }
  }
};

/// How far the wood reaches from the line in each direction, in all sections of the stretch: to the
/// second order of how far the line lies off the axis, which is exact where a section is round.
void find_reach(const Sketch& sketch, const Line& line, const Directions& directions,
                std::vector<double>& reach) {
  const auto angles = directions.cosine.size();
  reach.assign(angles, 1e9);
  for (std::size_t i = line.first; i <= line.last; ++i) {
    const auto t = static_cast<double>(i - line.first);
    const double off_y = line.y + t * line.dy - sketch.axis_y[i];
    const double off_z = line.z + t * line.dz - sketch.axis_z[i];
    const double bark = sketch.bark[i];
    const float* radius = &sketch.radius[i * angles];
    const float* sigma = &sketch.sigma[i * angles];
    for (std::size_t j = 0; j < angles; ++j) {
      const double along = off_y * directions.cosine[j] + off_z * directions.sine[j];
      const double across = off_z * directions.cosine[j] - off_y * directions.sine[j];
      const double wood = double{radius[j]} - bark - double{sigma[j]};
      const double place = wood > 1.0 ? wood - along - across * across / (2.0 * wood) : 0.0;
      reach[j] = std::min(reach[j], place);
    }
  }
}

/// How far a rectangle reaches from its centre in each of `count` directions, its corners included:
/// `reach` is looked up between directions, so that a corner between two counts for both.
std::vector<double> rectangle(double width, double thickness, std::size_t count) {
  std::vector<double> extent(count);
  const double corner = std::atan2(thickness, width);
  const double step = 2.0 * std::numbers::pi / static_cast<double>(count);
  for (std::size_t k = 0; k < count; ++k) {
    const double angle = step * static_cast<double>(k);
    const double c = std::abs(std::cos(angle)), s = std::abs(std::sin(angle));
    extent[k] = 0.5 * std::min(width / std::max(c, 1e-9), thickness / std::max(s, 1e-9));
    // In the first quarter by symmetry: is a corner within a step of this direction?
    if (std::abs(std::atan2(s, c) - corner) < step) extent[k] = 0.5 * std::hypot(width, thickness);
  }
  return extent;
}

bool fits(const std::vector<double>& reach, const std::vector<double>& extent) {
  const std::size_t count = extent.size();  // twice as many as reach
  const auto wood = [&](std::size_t k) {
    const std::size_t j = k / 2;
    return k % 2 == 0 ? reach[j] : 0.5 * (reach[j] + reach[(j + 1) % reach.size()]);
  };
  std::vector<double> fine(count);
  for (std::size_t k = 0; k < count; ++k) fine[k] = wood(k);
  for (std::size_t turn = 0; turn < count / 2; ++turn) {
    bool inside = true;
    for (std::size_t k = 0; k < count && inside; ++k)
      inside = extent[k] <= fine[(k + turn) % count];
    if (inside) return true;
  }
  return false;
}

/// Hands `use` one stretch after the other in which the piece may lie, until it returns true.
template <class Use>
bool any_stretch(const Sketch& sketch, double length, Use use) {
  const double spare = sketch.length - length;
  if (spare < 0.0) return false;
  const int starts = std::min(most_starts, 1 + static_cast<int>(std::ceil(spare / start_step)));
  for (int k = 0; k < starts; ++k)
    if (use(stretch(sketch, starts > 1 ? spare * k / (starts - 1) : 0.0, length))) return true;
  return false;
}

double half_diagonal(const PieceSize& piece) {
  return 0.5 * std::hypot(piece.width, piece.thickness);
}

/// A line `aside` of the axis has in every direction at least the least wood less `aside` about it
/// (by `find_reach` too: aside * cos + (aside * sin)^2 / (2 wood) is at most `aside` while that is
/// less than the wood), and at most the greatest wood and `aside`.
Given given_along(const Girths& girths, const Line& line, const PieceSize& piece) {
  constexpr double rounding = 1e-2;  // mm, of floats
  double surely = 1e9, at_most = 1e9, narrowest = 1e9;
  for (std::size_t i = line.first; i <= line.last; ++i) {
    const auto t = static_cast<double>(i - line.first);
    const double off_y = line.y + t * line.dy - double{girths.axis.axis_y[i]};
    const double off_z = line.z + t * line.dz - double{girths.axis.axis_z[i]};
    const double aside = std::sqrt(off_y * off_y + off_z * off_z);
    surely = std::min(surely, double{girths.least[i]} - aside);
    at_most = std::min(at_most, double{girths.most[i]} + aside);
    narrowest = std::min(narrowest, double{girths.least[i]} + aside);
  }
  // `find_reach` takes wood of up to 1 mm for none.
  if (surely >= std::max(half_diagonal(piece), 2.0) + rounding) return Given::yes;
  const double half_thickness = 0.5 * std::min(piece.width, piece.thickness);
  if (std::max(0.0, at_most) < half_diagonal(piece) - rounding ||
      std::max(0.0, narrowest) < half_thickness - rounding)
    return Given::no;
  return Given::unknown;
}

}  // namespace

Given gives_by_girths(const Girths& girths, const PieceSize& piece) {
  Given given = Given::no;
  any_stretch(girths.axis, piece.length, [&](const Line& line) {
    const Given along = given_along(girths, line, piece);
    if (along != Given::no) given = along;
    return along == Given::yes;
  });
  return given;
}

bool gives(const Sketch& sketch, const PieceSize& piece) {
  if (sketch.length < piece.length) return false;
  const Directions directions(sketch.angles);
  const auto extent = rectangle(piece.width, piece.thickness, 2 * directions.cosine.size());
  const double half_thickness = 0.5 * std::min(piece.width, piece.thickness);
  std::vector<double> reach;
  return any_stretch(sketch, piece.length, [&](const Line& line) {
    find_reach(sketch, line, directions, reach);
    const double least = *std::min_element(reach.begin(), reach.end());
    return least >= half_diagonal(piece) || (least >= half_thickness && fits(reach, extent));
  });
}

}  // namespace kerfwright
