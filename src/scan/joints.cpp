#include "joints.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>

namespace kerfwright {
namespace {

constexpr int sectors = 36;
constexpr double bark_band = 0.18;  ///< radii about the circle

/// Points inside the log within a few centimetres of a place along it: on faces, if not strays.
std::ptrdiff_t faces_about(const Unwrapped& near, double place) {
  constexpr double reach = 40.0, deep = 0.8;  // mm, radii
  std::ptrdiff_t count = 0;
  for (std::size_t i = 0; i < near.index.size(); ++i)
    if (near.out[i] < deep && std::abs(near.along[i] - place) < reach) ++count;
  return count;
}

/// Places with hardly any bark all round. Over a stretch in which the sparser side has 25 points,
/// as many as 5 or fewer come by chance once in a million; a few strays may lie in a gap. Where a
/// log bends, straightening it leaves gaps of some millimetres: through a narrow gap faces must be
/// seen.
void add_gaps(const Unwrapped& near, double low, double high, std::vector<double>& joints) {
  constexpr double plain = 25.0;  // mm
  constexpr std::size_t side = 100, inside = 5;
  constexpr double expected = 25.0, least = 8.0;  // points; mm
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
    if (gap < plain && faces_about(near, middle) < 8) continue;
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

}  // namespace

std::vector<double> find_joints(const Unwrapped& near, const LogFrame& frame) {
  const double margin = 1.2 * frame.radius(0.5 * frame.length());
  std::vector<double> joints;
  add_gaps(near, margin, frame.length() - margin, joints);
  if (joints.empty()) add_faces(near, margin, frame.length() - margin, joints);
  return joints;
}

}  // namespace kerfwright
