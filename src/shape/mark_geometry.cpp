#include "kerfwright/shape/mark_geometry.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "kerfwright/shape/section.hpp"

namespace kerfwright {
namespace {

constexpr double turn = 2.0 * std::numbers::pi;

double cross(const Eigen::Vector2d& a, const Eigen::Vector2d& b) {
  return a.x() * b.y() - a.y() * b.x();
}

/// Where a point lies on the way from a to b and square to it, mm.
struct Along {
  double along, across, length;
};

Along along_axis(const Knot& knot, const Eigen::Vector3d& point) {
  const Eigen::Vector3d axis = knot.at_bark - knot.at_pith;
  const double length = axis.norm();
  const Eigen::Vector3d arm = point - knot.at_pith;
  if (length < 1e-9) return {0.0, arm.norm(), 0.0};
  const double along = arm.dot(axis) / length;
  return {along, std::sqrt(std::max(0.0, arm.squaredNorm() - along * along)), length};
}

}  // namespace

Eigen::Vector2d clock_direction(double hours) {
  const double angle = turn * hours / 12.0;
  return {-std::sin(angle), std::cos(angle)};
}

double clock_hours(const Eigen::Vector2d& direction) {
  const double turns = std::atan2(-direction.x(), direction.y()) / turn;
  return 12.0 * (turns <= 0.0 ? turns + 1.0 : turns);
}

std::string half_hour_text(double hours) {
  int half_hours = static_cast<int>(std::lround(hours * 2.0)) % 24;
  if (half_hours < 2) half_hours += 24;
  return std::to_string(half_hours / 2) + (half_hours % 2 == 0 ? ":00" : ":30");
}

PithLine::PithLine(const LogShape& shape) : stations_(shape.stations) {
  const std::size_t last = stations_.size() - 1;
  const auto centroid = [&](std::size_t i) {
    return outline_centroid(section_outline(shape, i, Bark::on));
  };
  const auto& pith = shape.marks.pith;
  const Eigen::Vector2d off_butt = (pith ? pith->butt : centroid(0)) - shape.axis.front();
  const Eigen::Vector2d off_top = (pith ? pith->top : centroid(last)) - shape.axis.back();
  for (std::size_t i = 0; i <= last; ++i) {
    const double share = stations_[i] / stations_.back();
    places_.emplace_back(shape.axis[i] + (1.0 - share) * off_butt + share * off_top);
  }
}

Eigen::Vector2d PithLine::at(double x) const {
  const auto after = std::upper_bound(stations_.begin(), stations_.end(), x);
  if (after == stations_.begin()) return places_.front();
  if (after == stations_.end()) return places_.back();
  const auto i = static_cast<std::size_t>(after - stations_.begin()) - 1;
  const double share = (x - stations_[i]) / (stations_[i + 1] - stations_[i]);
  return (1.0 - share) * places_[i] + share * places_[i + 1];
}

double core_radius(const Core& core, double length, double x) {
  const double share = std::clamp(x / length, 0.0, 1.0);
  return (1.0 - share) * core.radius_butt + share * core.radius_top;
}

double depth_in_core(const LogShape& shape, const PithLine& pith, const Core& core,
                     const Eigen::Vector3d& point) {
  return core_radius(core, shape.length(), point.x()) -
         (point.tail<2>() - pith.at(point.x())).norm();
}

double depth_in_metal(const Metal& metal, const Eigen::Vector3d& point) {
  return metal.reach - (point - metal.place).norm();
}

double distance_to_split(const LogShape& shape, const PithLine& pith, const Split& split,
                         const Eigen::Vector3d& point) {
  const Eigen::Vector2d arm = point.tail<2>() - pith.at(point.x());
  const bool behind = !split.through && split.direction.dot(arm) < 0.0;
  const double beside = behind ? arm.norm() : std::abs(cross(split.direction, arm));
  const double from_end = split.from_butt ? point.x() : shape.length() - point.x();
  return std::hypot(beside, std::max(0.0, from_end - split.depth));
}

double knot_radius(const Knot& knot, const Eigen::Vector3d& point) {
  const Along place = along_axis(knot, point);
  if (place.length <= 0.0) return 0.0;
  return 0.5 * knot.diameter * std::clamp(place.along / place.length, 0.0, 1.0);
}

double depth_in_knot(const Knot& knot, const Eigen::Vector3d& point) {
  const Along place = along_axis(knot, point);
  if (place.along <= 0.0) return -(point - knot.at_pith).norm();
  return knot_radius(knot, point) - place.across;
}

bool is_in_figure(const LogShape& shape, const FigureZone& zone, const Eigen::Vector3d& point) {
  if (point.x() < zone.from || point.x() > zone.to) return false;
  const double depth = depth_inside(shape, point, Bark::on);
  if (depth < 0.0 || (zone.depth > 0.0 && depth > zone.depth)) return false;
  const double hours = clock_hours(point.tail<2>() - axis_at(shape, point.x()));
  const auto after = [&](double clock) {
    const double hour = std::fmod(clock - zone.clock_from + 24.0, 12.0);
    return hour;
  };
  const double wide = zone.clock_to - zone.clock_from >= 12.0 ? 12.0 : after(zone.clock_to);
  return after(hours) <= wide;
}

double ring_angle(const PithLine& pith, const Eigen::Vector3d& point,
                  const Eigen::Vector3d& face_normal) {
  const Eigen::Vector2d arm = point.tail<2>() - pith.at(point.x());
  const Eigen::Vector2d normal = face_normal.tail<2>();
  return 360.0 / turn * std::atan2(std::abs(cross(arm, normal)), std::abs(arm.dot(normal)));
}

}  // namespace kerfwright
