#include "rim.hpp"

#include <Eigen/QR>
#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>

#include "robust.hpp"

namespace kerfwright {
namespace {

constexpr std::size_t sectors = 48;
/// Of a face that few points show; told about the outline's own centre and ovality, which such wide
/// sectors would blur otherwise.
constexpr std::array<std::size_t, 3> wide_sectors = {24, 16, 12};
constexpr std::size_t wanted_points = 24;  ///< in a sector, or wider ones are better
constexpr std::size_t fewest_points = 8;   ///< in a sector, or its edge is not told
/// Of the radius, in a sector of the twelfth of a turn: what its outline is aside of the oval.
constexpr double uneven = 0.02;
constexpr double inner_share = 0.5;  ///< of the radius: nearer points say nothing about the edge
constexpr double strays = 0.01;      ///< share of points that lie anywhere
constexpr double least_sigma = 1.5;  ///< mm: chips, torn bark and the saw's own marks

/// About what distances are told: a centre (y, z), and how far the outline reaches by angle, over
/// its mean.
struct Outline {
  Eigen::Vector2d centre{0, 0};
  Eigen::Vector2d oval{0, 0};  ///< of cos and sin of twice the angle

  double reach(double angle) const {
    return 1.0 + oval.x() * std::cos(2.0 * angle) + oval.y() * std::sin(2.0 * angle);
  }
};

using Sectors = std::vector<std::vector<double>>;  ///< distances over the outline's reach, mm

/// The points of one face about its outline.
struct Face {
  Outline outline;
  Sectors distances;
  double inner = 0;            ///< mm, nearer points were left out
  Eigen::Vector2d lean{0, 0};  ///< by how much the density grows per mm of (y, z)
};

double middle_of(std::size_t sector, std::size_t of) {
  return 2.0 * std::numbers::pi * (static_cast<double>(sector) + 0.5) / static_cast<double>(of);
}

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
  const double angle = middle_of(sector, face.distances.size());
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
    for (std::size_t s = 0; s < face.distances.size(); ++s) {
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

/// A place on the edge, (y, z) from the spine, and how surely it lies there, mm.
struct EdgePoint {
  Eigen::Vector2d at;
  double sigma;
};

/// One in each sector that has points enough.
std::vector<EdgePoint> edges_of(const Face& points, double spread) {
  const double blur = blur_of(points, spread);
  std::vector<EdgePoint> edges;
  for (std::size_t s = 0; s < points.distances.size(); ++s) {
    if (points.distances[s].size() < fewest_points) continue;
    const Edge edge = edge_of(points.distances[s], blur, points.inner, lean_of(points, s));
    const double angle = middle_of(s, points.distances.size());
    const double reach = points.outline.reach(angle);
    const double wide = points.distances.size() == sectors
                            ? 0.0
                            : 12.0 / static_cast<double>(points.distances.size());
    edges.push_back({points.outline.centre +
                         edge.radius * reach * Eigen::Vector2d(std::cos(angle), std::sin(angle)),
                     std::hypot(edge.sigma, uneven * wide * edge.radius) * reach});
  }
  return edges;
}

void add_rim(const std::vector<EdgePoint>& edges, const EndFace& face, const Eigen::Vector2d& spine,
             std::vector<RimPoint>& rim) {
  for (const EdgePoint& edge : edges) {
    RimPoint point;
    point.radius = edge.at.norm();
    point.sigma = edge.sigma;
    const double turn = std::atan2(edge.at.y(), edge.at.x()) / (2.0 * std::numbers::pi);
    point.turn = turn < 0.0 ? turn + 1.0 : turn;
    point.x = face.x(spine + edge.at);
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

std::size_t sector_of(const Eigen::Vector2d& arm, std::size_t of) {
  const double turns = std::atan2(arm.y(), arm.x()) / (2.0 * std::numbers::pi);
  const auto sector =
      static_cast<std::size_t>((turns < 0.0 ? turns + 1.0 : turns) * static_cast<double>(of));
  return std::min(sector, of - 1);
}

/// A point of an end, from the spine there.
struct EndPoint {
  Eigen::Vector2d arm;  ///< (y, z), mm
  double out;           ///< beyond the face, mm
};

struct End {
  std::vector<EndPoint> face, bark;
  double radius = 0;  ///< of the spine there, mm
  double spread = 0;  ///< of the face's points, mm
};

/// Where bark was seen beside the face its points would be taken for the face's own and put the
/// edge too far out; there only points on the outer side of the face count.
Face sectored(const End& end, const Outline& outline, std::size_t count) {
  Face found{outline, Sectors(count), inner_share * end.radius, {}};
  Sectors inside(count);
  std::vector<int> bark(count, 0);
  for (const EndPoint& point : end.bark) {
    ++bark[sector_of(point.arm - outline.centre, count)];
  }
  std::vector<Eigen::Vector2d> arms;
  for (const EndPoint& point : end.face) {
    const Eigen::Vector2d arm = point.arm - outline.centre;
    const double distance = arm.norm() / outline.reach(std::atan2(arm.y(), arm.x()));
    arms.push_back(arm);
    if (distance < found.inner) continue;
    Sectors& side = point.out > -0.3 * end.spread ? found.distances : inside;
    side[sector_of(arm, count)].push_back(distance);
  }
  for (std::size_t s = 0; s < count; ++s) {
    auto& distances = found.distances[s];
    if (bark[s] < 3) distances.insert(distances.end(), inside[s].begin(), inside[s].end());
    std::sort(distances.rbegin(), distances.rend());
  }
  found.lean = lean_of(arms, 0.85 * end.radius);
  return found;
}

/// Whether three quarters of the sectors have as many points.
bool have(const Face& face, std::size_t points) {
  const auto enough = std::count_if(face.distances.begin(), face.distances.end(),
                                    [&](const auto& some) { return some.size() >= points; });
  return 4 * static_cast<std::size_t>(enough) >= 3 * face.distances.size();
}

/// The oval that goes through edges best, about a centre of its own.
Outline outline_through(const std::vector<EdgePoint>& edges) {
  Outline outline;
  if (edges.size() < 8) return outline;
  Eigen::MatrixXd rows(static_cast<Eigen::Index>(edges.size()), 5);
  Eigen::VectorXd radii(rows.rows());
  for (Eigen::Index i = 0; i < rows.rows(); ++i) {
    const EdgePoint& edge = edges[static_cast<std::size_t>(i)];
    const double angle = std::atan2(edge.at.y(), edge.at.x());
    rows.row(i) << 1.0, std::cos(angle), std::sin(angle), std::cos(2.0 * angle),
        std::sin(2.0 * angle);
    rows.row(i) /= edge.sigma;
    radii[i] = edge.at.norm() / edge.sigma;
  }
  const Eigen::VectorXd found = rows.colPivHouseholderQr().solve(radii);
  outline.centre = found.segment<2>(1);
  outline.oval = found.tail<2>() / std::max(1.0, found[0]);
  const double most = 0.4;
  if (outline.oval.norm() > most) outline.oval *= most / outline.oval.norm();
  return outline;
}

/// The edges of a face in narrow sectors, or, where few points show it, in wide ones about the
/// outline that a first look gives.
std::vector<EdgePoint> edges_of(const End& end) {
  const Face narrow = sectored(end, {}, sectors);
  if (have(narrow, wanted_points)) return edges_of(narrow, end.spread);
  Outline outline;
  for (const EndPoint& point : end.face) outline.centre += point.arm;
  outline.centre /= std::max(1.0, static_cast<double>(end.face.size()));
  Face face;
  for (const std::size_t count : wide_sectors) {
    face = sectored(end, outline, count);
    if (have(face, wanted_points)) break;
  }
  for (int round = 0; round < 2; ++round) {
    outline = outline_through(edges_of(face, end.spread));
    face = sectored(end, outline, face.distances.size());
  }
  return edges_of(face, end.spread);
}

void add_end(const std::vector<Eigen::Vector3f>& points, const Placement& placement,
             const EndFace& face, double sign, std::vector<RimPoint>& rim) {
  if (!face.scanned) return;
  const auto section = placement.spine(face.at);
  const Eigen::Vector2d spine = section.head<2>().transpose();
  const double thickness = std::max(3.0, 2.5 * face.spread), strip = thickness + 40.0;
  End end;
  end.radius = section[2];
  end.spread = face.spread;
  for (const auto& point : points) {
    const Eigen::Vector3d p = placement.scan_to_log * point.cast<double>();
    const double out = sign * (p.x() - face.x(p.tail<2>()));
    if (out > thickness || out < -strip) continue;
    const Eigen::Vector2d arm = p.tail<2>() - spine;
    if (arm.norm() > 1.6 * end.radius) continue;
    if (out >= -thickness) {
      end.face.push_back({arm, out});
    } else if (arm.norm() > 0.75 * end.radius) {
      end.bark.push_back({arm, out});
    }
  }
  add_rim(edges_of(end), face, spine, rim);
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
