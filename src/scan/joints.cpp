#include "joints.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>

#include "quantile.hpp"

namespace kerfwright {
namespace {

constexpr int sectors = 36;
constexpr double bark_band = 0.18;   ///< radii about the circle
constexpr double least_step = 0.04;  ///< radii, over half of the girth or more

/// Points on the bark in bins along the axis by sectors round it.
struct BarkGrid {
  double first = 0.0, width = 1.0;  ///< mm
  int bins = 0;
  std::vector<int> count;
  std::vector<double> out;  ///< sum, radii

  std::size_t slot(int bin, int sector) const {
    return static_cast<std::size_t>(bin * sectors + sector);
  }
  double place(double bin) const { return first + width * bin; }
};

BarkGrid fill_grid(const Unwrapped& near, const LogFrame& frame, double width) {
  BarkGrid grid;
  grid.width = width;
  grid.bins = static_cast<int>(frame.length() / width) + 1;
  grid.count.assign(grid.slot(grid.bins, 0), 0);
  grid.out.assign(grid.count.size(), 0.0);
  for (std::size_t i = 0; i < near.index.size(); ++i) {
    const int bin = static_cast<int>(std::floor(near.along[i] / width));
    if (std::abs(near.out[i] - 1.0F) > bark_band || bin < 0 || bin >= grid.bins) continue;
    const int sector = static_cast<int>(near.angle[i] / (2.0 * std::numbers::pi) * sectors);
    const std::size_t at = grid.slot(bin, std::min(sector, sectors - 1));
    ++grid.count[at];
    grid.out[at] += near.out[i];
  }
  return grid;
}

/// Places with hardly any bark all round. Over a stretch in which the sparser side has 25 points,
/// as many as 5 or fewer come by chance once in a million; a few strays may lie in a gap.
void add_gaps(const Unwrapped& near, double low, double high, std::vector<double>& joints) {
  constexpr std::size_t side = 100, inside = 5;
  constexpr double expected = 25.0, least = 5.0;  // points; mm
  std::vector<double> along;
  for (std::size_t i = 0; i < near.index.size(); ++i)
    if (std::abs(near.out[i] - 1.0F) < bark_band) along.push_back(near.along[i]);
  std::sort(along.begin(), along.end());
  double widest = 0.0, place = 0.0;
  for (std::size_t i = side; i + inside + side < along.size(); ++i) {
    const double gap = along[i + inside] - along[i];
    const double middle = 0.5 * (along[i + inside] + along[i]);
    if (middle < low || middle > high || gap < least) continue;
    const double spacing =
        std::max(along[i] - along[i - side], along[i + inside + side] - along[i + inside]) / side;
    if (gap < expected * spacing || gap / spacing <= widest) continue;
    widest = gap / spacing;
    place = middle;
  }
  if (widest > 0.0) joints.push_back(place);
}

/// A place where points lie inside the log, at many angles and over a few centimetres only: the
/// faces of two logs, seen through the gap between them.
void add_faces(const Unwrapped& near, double low, double high, std::vector<double>& joints) {
  constexpr double deep = 0.8, window = 50.0;  // radii; mm
  constexpr std::size_t least = 20;
  constexpr int least_sectors = 9;
  std::vector<std::pair<double, int>> inside;  // along, sector
  for (std::size_t i = 0; i < near.index.size(); ++i)
    if (near.out[i] < deep && near.along[i] > low - 3.0 * window &&
        near.along[i] < high + 3.0 * window)
      inside.emplace_back(near.along[i],
                          static_cast<int>(near.angle[i] / (2.0 * std::numbers::pi) * sectors));
  std::sort(inside.begin(), inside.end());
  const auto count = [&](double from, double to) {
    return std::lower_bound(inside.begin(), inside.end(), std::pair(to, 0)) -
           std::lower_bound(inside.begin(), inside.end(), std::pair(from, 0));
  };
  std::size_t most = least;
  double place = -1.0;
  for (std::size_t i = 0; i + least < inside.size(); ++i) {
    const double from = inside[i].first, to = from + window;
    const auto here = static_cast<std::size_t>(count(from, to));
    const std::size_t middle = i + here / 2;
    if (here <= most || inside[middle].first < low || inside[middle].first > high) continue;
    const auto around =
        count(from - 2.0 * window, from - window) + count(to + window, to + 2.0 * window);
    std::array<bool, sectors + 1> hit{};
    for (std::size_t k = i; k < i + here; ++k)
      hit[static_cast<std::size_t>(inside[k].second)] = true;
    if (10 * around > static_cast<std::ptrdiff_t>(here) ||
        std::count(hit.begin(), hit.end(), true) < least_sectors)
      continue;
    most = here;
    place = inside[middle].first;
  }
  if (place >= 0.0) joints.push_back(place);
}

/// Median over the sectors of how far the bark steps between two stretches of bins, radii.
double step_between(const BarkGrid& grid, int a_from, int a_to, int b_from, int b_to) {
  std::vector<double> steps;
  for (int s = 0; s < sectors; ++s) {
    std::array<double, 2> sum{}, count{};
    for (int side = 0; side < 2; ++side)
      for (int b = side == 0 ? a_from : b_from; b < (side == 0 ? a_to : b_to); ++b) {
        const auto at = static_cast<std::size_t>(side);
        sum[at] += grid.out[grid.slot(b, s)];
        count[at] += grid.count[grid.slot(b, s)];
      }
    if (count[0] >= 3 && count[1] >= 3)
      steps.push_back(std::abs(sum[0] / count[0] - sum[1] / count[1]));
  }
  return steps.size() < 10 ? 0.0 : take_quantile(steps);
}

/// Places where the bark steps at once by far more than it changes on either side.
void add_steps(const BarkGrid& grid, int margin, int stretch, std::vector<double>& joints) {
  int best = -1;
  double most = least_step;
  for (int b = std::max(margin, 2 * stretch + 1); b + std::max(margin, 2 * stretch + 1) < grid.bins;
       ++b) {
    const double step = step_between(grid, b - stretch, b, b + 1, b + 1 + stretch);
    if (step <= most) continue;
    const double before = step_between(grid, b - 2 * stretch, b - stretch, b - stretch, b);
    const double after =
        step_between(grid, b + 1, b + 1 + stretch, b + 1 + stretch, b + 1 + 2 * stretch);
    if (step < 2.5 * std::max(before, after)) continue;
    most = step;
    best = b;
  }
  if (best >= 0) joints.push_back(grid.place(best + 0.5));
}

}  // namespace

std::vector<double> find_joints(const Unwrapped& near, const LogFrame& frame) {
  const double radius = frame.radius(0.5 * frame.length());
  std::size_t bark = 0;
  for (const float out : near.out) bark += std::abs(out - 1.0F) < bark_band ? 1 : 0;
  const double sparse = 70.0 * frame.length() / static_cast<double>(bark + 1);
  const double width = std::clamp(sparse, 0.03 * radius, 0.5 * radius);
  const BarkGrid grid = fill_grid(near, frame, width);
  const int margin = static_cast<int>(1.2 * radius / width) + 1;
  std::vector<double> joints;
  add_gaps(near, 1.2 * radius, frame.length() - 1.2 * radius, joints);
  if (joints.empty()) add_faces(near, 1.2 * radius, frame.length() - 1.2 * radius, joints);
  if (joints.empty())
    add_steps(grid, 2 * margin, std::max(2, static_cast<int>(0.25 * radius / width)), joints);
  return joints;
}

}  // namespace kerfwright
