#include "planar.hpp"

#include <algorithm>
#include <cmath>
#include <tuple>

namespace kerfwright::sheet {
namespace {

double turn(const Eigen::Vector2d& a, const Eigen::Vector2d& b, const Eigen::Vector2d& c) {
  return (b.x() - a.x()) * (c.y() - a.y()) - (b.y() - a.y()) * (c.x() - a.x());
}

}  // namespace

Polygon clipped(const Polygon& polygon, const HalfPlane& half) {
  Polygon kept;
  for (std::size_t i = 0; i < polygon.size(); ++i) {
    const auto& a = polygon[i];
    const auto& b = polygon[(i + 1) % polygon.size()];
    const double depth_a = half.normal.dot(a) - half.offset;
    const double depth_b = half.normal.dot(b) - half.offset;
    if (depth_a >= 0.0) kept.push_back(a);
    if ((depth_a >= 0.0) != (depth_b >= 0.0))
      kept.push_back(a + depth_a / (depth_a - depth_b) * (b - a));
  }
  return kept;
}

std::optional<Span> span_on_line(const Polygon& polygon, const Eigen::Vector2d& normal,
                                 double offset) {
  const Eigen::Vector2d direction(-normal.y(), normal.x());
  std::optional<Span> span;
  for (std::size_t i = 0; i < polygon.size(); ++i) {
    const auto& a = polygon[i];
    const auto& b = polygon[(i + 1) % polygon.size()];
    const double depth_a = normal.dot(a) - offset;
    const double depth_b = normal.dot(b) - offset;
    if ((depth_a >= 0.0) == (depth_b >= 0.0)) continue;
    const Eigen::Vector2d p = a + depth_a / (depth_a - depth_b) * (b - a);
    if (!span) span = Span{p, p};
    if (direction.dot(p) < direction.dot(span->from)) span->from = p;
    if (direction.dot(p) > direction.dot(span->to)) span->to = p;
  }
  return span;
}

Polygon hull(Polygon points) {
  std::sort(points.begin(), points.end(), [](const auto& a, const auto& b) {
    return std::make_tuple(a.x(), a.y()) < std::make_tuple(b.x(), b.y());
  });
  // Andrew's monotone chain: the lower side from left to right, then the upper side back.
  Polygon chain;
  for (int side = 0; side < 2; ++side) {
    const std::size_t start = chain.size();
    for (const auto& p : points) {
      while (chain.size() >= start + 2 && turn(chain[chain.size() - 2], chain.back(), p) <= 0.0) {
        chain.pop_back();
      }
      chain.push_back(p);
    }
    if (!chain.empty()) chain.pop_back();
    std::reverse(points.begin(), points.end());
  }
  return chain;
}

bool contains(const Polygon& polygon, const Eigen::Vector2d& point) {
  bool inside = false;
  for (std::size_t i = 0; i < polygon.size(); ++i) {
    const auto& a = polygon[i];
    const auto& b = polygon[(i + 1) % polygon.size()];
    if ((a.y() > point.y()) == (b.y() > point.y())) continue;
    const double x = a.x() + (point.y() - a.y()) / (b.y() - a.y()) * (b.x() - a.x());
    if (point.x() < x) inside = !inside;
  }
  return inside;
}

}  // namespace kerfwright::sheet
