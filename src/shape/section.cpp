#include "kerfwright/shape/section.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

namespace kerfwright {
namespace {

/// What is taken off every radius of station i, mm.
double taken_off(const LogShape& shape, std::size_t i, Bark bark, double inset) {
  return inset + (bark == Bark::off ? bark_at(shape, i) : 0.0);
}

/// Direction j of that many: their sines took an eighth of all planning.
const Eigen::Vector2d& direction(int angles, int j) {
  thread_local std::vector<Eigen::Vector2d> directions;
  if (directions.size() != static_cast<std::size_t>(angles)) {
    directions.clear();
    for (int k = 0; k < angles; ++k) {
      const double angle = 2.0 * std::numbers::pi * k / angles;
      directions.emplace_back(std::cos(angle), std::sin(angle));
    }
  }
  return directions[static_cast<std::size_t>(j)];
}

Eigen::Vector2d outline_point(const LogShape& shape, std::size_t i, int j, double inset) {
  const double radius =
      std::max(0.0, static_cast<double>(shape.radius[i][static_cast<std::size_t>(j)]) - inset);
  return shape.axis[i] + radius * direction(shape.angles, j);
}

}  // namespace

std::pair<std::size_t, double> locate(const LogShape& shape, double x) {
  const auto& stations = shape.stations;
  const auto after = std::upper_bound(stations.begin(), stations.end(), x);
  const auto last = stations.size() - 2;
  const auto i =
      after == stations.begin()
          ? std::size_t{0}
          : std::min<std::size_t>(static_cast<std::size_t>(after - stations.begin()) - 1, last);
  const double share = (x - stations[i]) / (stations[i + 1] - stations[i]);
  return {i, std::clamp(share, 0.0, 1.0)};
}

double bark_at(const LogShape& shape, std::size_t i) {
  return shape.bark_at_station.empty() ? shape.bark : shape.bark_at_station[i];
}

Outline section_outline(const LogShape& shape, std::size_t i, Bark bark, double inset) {
  Outline outline(static_cast<std::size_t>(shape.angles));
  const double off = taken_off(shape, i, bark, inset);
  for (int j = 0; j < shape.angles; ++j) {
    outline[static_cast<std::size_t>(j)] = outline_point(shape, i, j, off);
  }
  return outline;
}

Outline section_outline_at(const LogShape& shape, double x, Bark bark, double inset) {
  const auto [i, share] = locate(shape, x);
  const Outline here = section_outline(shape, i, bark, inset);
  const Outline next = section_outline(shape, i + 1, bark, inset);
  Outline outline(here.size());
  for (std::size_t j = 0; j < here.size(); ++j) {
    outline[j] = (1.0 - share) * here[j] + share * next[j];
  }
  return outline;
}

double outline_area(const Outline& outline) {
  double twice = 0.0;
  for (std::size_t j = 0; j < outline.size(); ++j) {
    const auto& a = outline[j];
    const auto& b = outline[(j + 1) % outline.size()];
    twice += a.x() * b.y() - b.x() * a.y();
  }
  return 0.5 * twice;
}

Eigen::Vector2d outline_centroid(const Outline& outline) {
  // About the first corner, so that an outline far from the origin loses nothing.
  double twice = 0.0;
  Eigen::Vector2d moment(0, 0);
  for (std::size_t j = 1; j + 1 < outline.size(); ++j) {
    const Eigen::Vector2d a = outline[j] - outline[0];
    const Eigen::Vector2d b = outline[j + 1] - outline[0];
    const double piece = a.x() * b.y() - b.x() * a.y();
    twice += piece;
    moment += piece / 3.0 * (a + b);
  }
  return twice == 0.0 ? outline[0] : Eigen::Vector2d(outline[0] + moment / twice);
}

Eigen::Vector2d axis_at(const LogShape& shape, double x) {
  const auto [i, share] = locate(shape, x);
  return (1.0 - share) * shape.axis[i] + share * shape.axis[i + 1];
}

double solid_volume_m3(const LogShape& shape, Bark bark, double inset) {
  double cubic_mm = 0.0;
  for (std::size_t i = 0; i + 1 < shape.stations.size(); ++i) {
    const Outline here = section_outline(shape, i, bark, inset);
    const Outline next = section_outline(shape, i + 1, bark, inset);
    Outline middle(here.size());
    for (std::size_t j = 0; j < here.size(); ++j) middle[j] = 0.5 * (here[j] + next[j]);
    cubic_mm += (shape.stations[i + 1] - shape.stations[i]) / 6.0 *
                (outline_area(here) + 4.0 * outline_area(middle) + outline_area(next));
  }
  return cubic_mm * 1e-9;
}

double depth_inside(const LogShape& shape, const Eigen::Vector3d& point, Bark bark, double inset) {
  if (point.x() < 0.0) return point.x();
  if (point.x() > shape.length()) return shape.length() - point.x();
  const auto [i, share] = locate(shape, point.x());
  const Eigen::Vector2d centre = (1.0 - share) * shape.axis[i] + share * shape.axis[i + 1];
  const Eigen::Vector2d arm(point.y() - centre.x(), point.z() - centre.y());
  const double turns = std::atan2(arm.y(), arm.x()) / (2.0 * std::numbers::pi);
  const double position = (turns - std::floor(turns)) * shape.angles;
  const int j = std::min(static_cast<int>(position), shape.angles - 1);
  const int k = (j + 1) % shape.angles;
  const double off = taken_off(shape, i, bark, inset);
  const double off_next = taken_off(shape, i + 1, bark, inset);
  const auto corner = [&, i = i, share = share](int angle) -> Eigen::Vector2d {
    return (1.0 - share) * outline_point(shape, i, angle, off) +
           share * outline_point(shape, i + 1, angle, off_next) - centre;
  };
  const Eigen::Vector2d a = corner(j);
  const Eigen::Vector2d b = corner(k);
  // The ray from the axis through the point meets the chord a-b at `reach` times the arm.
  const Eigen::Vector2d along = b - a;
  const double across = arm.x() * along.y() - arm.y() * along.x();
  const double length = arm.norm();
  if (length < 1e-12 || std::abs(across) < 1e-12) return std::min(a.norm(), b.norm()) - length;
  const double reach = (a.x() * along.y() - a.y() * along.x()) / across;
  return (reach - 1.0) * length;
}

}  // namespace kerfwright
