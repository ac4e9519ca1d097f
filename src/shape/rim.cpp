#include "rim.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>

#include "robust.hpp"

namespace kerfwright {
namespace {

constexpr int sectors = 48;
constexpr std::size_t fewest_points = 12;  ///< in a sector
constexpr double edge_share =
    0.93;  ///< quantile from which the edge is reckoned: noise blurs the edge itself

using Squares = std::array<std::vector<double>, sectors>;  ///< of the distances from the spine

/// Points spread evenly over the face are even in the squares of their distances: from a quantile
/// of those beyond half the radius follows where they end.
RimPoint edge_of(std::vector<double> squares, double inner) {
  const double n = static_cast<double>(squares.size());
  const double reach = quantile(std::move(squares), edge_share) - inner;
  RimPoint point;
  point.radius = std::sqrt(inner + reach / edge_share);
  const double spread = std::sqrt(edge_share * (1.0 - edge_share) / n) / edge_share;
  point.sigma = std::hypot(1.5, reach * spread / (2.0 * point.radius));
  return point;
}

void add_rim(const Squares& squares, const EndFace& face, const Spine& spine, double inner,
             std::vector<RimPoint>& rim) {
  const auto section = spine(face.at);
  for (std::size_t s = 0; s < sectors; ++s) {
    if (squares[s].size() < fewest_points) continue;
    RimPoint point = edge_of(squares[s], inner);
    point.turn = (static_cast<double>(s) + 0.5) / sectors;
    const double angle = 2.0 * std::numbers::pi * point.turn;
    const Eigen::Vector2d yz = section.head<2>().transpose() +
                               point.radius * Eigen::Vector2d(std::cos(angle), std::sin(angle));
    point.x = face.x(yz);
    rim.push_back(point);
  }
}

void add_end(const std::vector<Eigen::Vector3f>& points, const Placement& placement,
             const EndFace& face, std::vector<RimPoint>& rim) {
  if (!face.scanned) return;
  const auto section = placement.spine(face.at);
  const double inner = std::pow(0.5 * section[2], 2), outer = std::pow(1.6 * section[2], 2);
  const double thickness = std::max(3.0, 2.5 * face.spread);
  Squares squares;
  for (const auto& point : points) {
    const Eigen::Vector3d p = placement.scan_to_log * point.cast<double>();
    if (std::abs(p.x() - face.x(p.tail<2>())) > thickness) continue;
    const Eigen::Vector2d arm = p.tail<2>() - section.head<2>().transpose();
    if (arm.squaredNorm() < inner || arm.squaredNorm() > outer) continue;
    const double turns = std::atan2(arm.y(), arm.x()) / (2.0 * std::numbers::pi);
    const int sector = static_cast<int>((turns < 0.0 ? turns + 1.0 : turns) * sectors);
    squares[static_cast<std::size_t>(std::min(sector, sectors - 1))].push_back(arm.squaredNorm());
  }
  add_rim(squares, face, placement.spine, inner, rim);
}

}  // namespace

std::vector<RimPoint> rim_points(const std::vector<Eigen::Vector3f>& points,
                                 const Placement& placement) {
  std::vector<RimPoint> rim;
  add_end(points, placement, placement.butt, rim);
  add_end(points, placement, placement.top, rim);
  return rim;
}

}  // namespace kerfwright
