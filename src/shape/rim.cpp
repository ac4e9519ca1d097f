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
constexpr double inner_share = 0.5;  ///< of the radius: nearer points say nothing about the edge
constexpr double strays = 0.01;      ///< share of points that lie anywhere
constexpr double least_sigma = 1.5;  ///< mm: chips, torn bark and the saw's own marks

using Sectors = std::array<std::vector<double>, sectors>;  ///< distances from the spine, mm

/// The points of one face about the spine's end.
struct Face {
  Sectors distances;
  double inner = 0;            ///< mm, nearer points were left out
  Eigen::Vector2d lean{0, 0};  ///< by how much the density grows per mm of (y, z)
};

/// Normal distribution function.
double below(double z) { return 0.5 * std::erfc(-z / std::numbers::sqrt2); }

/// The logarithm of how likely the distances (sorted, largest first) are where points spread over
/// the face with a density that grows by `lean` per mm outwards, up to an edge that noise blurs.
double likelihood(const std::vector<double>& distances, double edge, double blur, double inner,
                  double lean) {
  const double area = 0.5 * (edge * edge - inner * inner) +
                      lean * (edge * edge * edge - inner * inner * inner) / 3.0;
  double sum = -static_cast<double>(distances.size()) * std::log(std::max(1.0, area));
  for (const double r : distances) {
    const double inside = (edge - r) / blur;
    if (inside > 4.0) break;
    sum += std::log((1.0 - strays) * below(inside) + strays);
  }
  return sum;
}

struct Edge {
  double radius = 0, sigma = 0;
  double likelihood = 0;  ///< logarithm of the sum over all edges
};

/// Mean and standard deviation of where the edge may be, by summing over a grid: with few points
/// the likeliest place alone lies too far in, since nothing tells against the nearest gap.
Edge edge_of(const std::vector<double>& distances, double blur, double inner, double lean) {
  constexpr int steps = 80;
  const double outer = distances[distances.size() / 50];
  const double gap = (outer - inner) / static_cast<double>(distances.size());  // between points
  const double reach = std::max(4.0 * blur, 12.0 * gap) + 2.0;
  std::array<double, steps> value{};
  const double step = 2.0 * reach / steps;
  const double least = distances[distances.size() / 4];  // more than these cannot all lie outside
  const auto at = [&](int i) { return std::max(least, outer - reach + (i + 0.5) * step); };
  for (int i = 0; i < steps; ++i) {
    value[static_cast<std::size_t>(i)] = likelihood(distances, at(i), blur, inner, lean);
  }
  const double most = *std::max_element(value.begin(), value.end());
  double sum = 0, mean = 0, square = 0;
  for (int i = 0; i < steps; ++i) {
    const double weight = std::exp(value[static_cast<std::size_t>(i)] - most);
    const double off = at(i) - outer;
    sum += weight, mean += weight * off, square += weight * off * off;
  }
  mean /= sum, square /= sum;
  return {outer + mean, std::hypot(least_sigma, std::sqrt(std::max(0.0, square - mean * mean))),
          most + std::log(sum * step)};
}

double lean_of(const Face& face, std::size_t sector) {
  const double angle = 2.0 * std::numbers::pi * (static_cast<double>(sector) + 0.5) / sectors;
  return face.lean.dot(Eigen::Vector2d(std::cos(angle), std::sin(angle)));
}

/// How much noise blurs the edge: the likeliest of a few, from all sectors together. Only the part
/// of the noise that lies in the face counts, and which that is depends on the view.
double blur_of(const Face& face, double spread) {
  double best = std::max(0.5, spread), most = 0;
  bool first = true;
  for (const double share : {0.35, 0.6, 1.0, 1.6}) {
    const double blur = std::max(0.5, share * spread);
    double sum = 0;
    for (std::size_t s = 0; s < sectors; ++s) {
      if (face.distances[s].size() < fewest_points) continue;
      const Edge edge = edge_of(face.distances[s], blur, face.inner, lean_of(face, s));
      sum += edge.likelihood;
    }
    if (first || sum > most) {
      most = sum;
      best = blur;
    }
    first = false;
  }
  return best;
}

void add_rim(const Face& points, const EndFace& face, const Spine& spine,
             std::vector<RimPoint>& rim) {
  const auto section = spine(face.at);
  const double blur = blur_of(points, face.spread);
  for (std::size_t s = 0; s < sectors; ++s) {
    if (points.distances[s].size() < fewest_points) continue;
    const Edge edge = edge_of(points.distances[s], blur, points.inner, lean_of(points, s));
    RimPoint point;
    point.radius = edge.radius;
    point.sigma = edge.sigma;
    point.turn = (static_cast<double>(s) + 0.5) / sectors;
    const double angle = 2.0 * std::numbers::pi * point.turn;
    const Eigen::Vector2d yz = section.head<2>().transpose() +
                               point.radius * Eigen::Vector2d(std::cos(angle), std::sin(angle));
    point.x = face.x(yz);
    rim.push_back(point);
  }
}

/// Where the points of a disc lie on average, over a quarter of its squared radius: how much their
/// density grows per mm, if it grows evenly.
Eigen::Vector2d lean_of(const std::vector<Eigen::Vector2d>& arms, double radius) {
  Eigen::Vector2d sum = Eigen::Vector2d::Zero();
  double count = 0;
  for (const Eigen::Vector2d& arm : arms) {
    if (arm.norm() > radius) continue;
    sum += arm;
    count += 1.0;
  }
  if (count < 50.0) return Eigen::Vector2d::Zero();
  const Eigen::Vector2d lean = sum / count * 4.0 / (radius * radius);
  return lean * std::min(1.0, 0.5 / (radius * std::max(1e-12, lean.norm())));
}

std::size_t sector_of(const Eigen::Vector2d& arm) {
  const double turns = std::atan2(arm.y(), arm.x()) / (2.0 * std::numbers::pi);
  const int sector = static_cast<int>((turns < 0.0 ? turns + 1.0 : turns) * sectors);
  return static_cast<std::size_t>(std::min(sector, sectors - 1));
}

/// Where bark was seen beside the face its points would be taken for the face's own and put the
/// edge too far out; there only points on the outer side of the face count.
void add_end(const std::vector<Eigen::Vector3f>& points, const Placement& placement,
             const EndFace& face, double sign, std::vector<RimPoint>& rim) {
  if (!face.scanned) return;
  const auto section = placement.spine(face.at);
  const double thickness = std::max(3.0, 2.5 * face.spread), strip = thickness + 40.0;
  Face found;
  found.inner = inner_share * section[2];
  std::vector<Eigen::Vector2d> arms;
  std::array<int, sectors> bark{};
  Sectors inside;
  for (const auto& point : points) {
    const Eigen::Vector3d p = placement.scan_to_log * point.cast<double>();
    const double out = sign * (p.x() - face.x(p.tail<2>()));
    if (out > thickness || out < -strip) continue;
    const Eigen::Vector2d arm = p.tail<2>() - section.head<2>().transpose();
    if (arm.norm() > 1.6 * section[2]) continue;
    if (out < -thickness) {
      bark[sector_of(arm)] += arm.norm() > 0.75 * section[2] ? 1 : 0;
      continue;
    }
    arms.push_back(arm);
    if (arm.norm() < found.inner) continue;
    (out > -0.3 * face.spread ? found.distances : inside)[sector_of(arm)].push_back(arm.norm());
  }
  for (std::size_t s = 0; s < sectors; ++s) {
    auto& distances = found.distances[s];
    if (bark[s] < 3) distances.insert(distances.end(), inside[s].begin(), inside[s].end());
    std::sort(distances.rbegin(), distances.rend());
  }
  found.lean = lean_of(arms, 0.85 * section[2]);
  add_rim(found, face, placement.spine, rim);
}

}  // namespace

std::vector<RimPoint> rim_points(const std::vector<Eigen::Vector3f>& points,
                                 const Placement& placement) {
  std::vector<RimPoint> rim;
  add_end(points, placement, placement.butt, -1.0, rim);
  add_end(points, placement, placement.top, +1.0, rim);
  return rim;
}

}  // namespace kerfwright
