#include "ends.hpp"

#include <Eigen/Dense>
#include <algorithm>
#include <array>
#include <cmath>
#include <cstdint>
#include <numbers>
#include <optional>

#include "robust.hpp"

namespace kerfwright {
namespace {

constexpr double face_share =
    0.78;  ///< of the radius: nearer to the axis lie no bark points but flutes
constexpr double face_thickness = 15.0;  ///< mm, what noise may make of a plane
constexpr double steepest_face = 0.5;    ///< mm along per mm across
constexpr double steepest_stop = 1.5;    ///< the same where a scan stops before its log does

/// A point seen from the end: `out` grows towards the end's outside, (y, z) are from the log's
/// axis.
struct EndPoint {
  double out = 0;
  Eigen::Vector2d yz{0, 0};      ///< in the frame
  Eigen::Vector2d offset{0, 0};  ///< from the axis, in radii
};

double outermost(const Cloud& points, int sign) {
  std::vector<double> out;
  for (const auto& p : points) out.push_back(sign * p.x());
  return quantile(std::move(out), 0.995);
}

/// Points up to `radii` and a little from the outermost.
std::vector<EndPoint> near_end(const Cloud& points, const Spine& spine, int sign, double radii) {
  const double outer = outermost(points, sign);
  const double reach = radii * spine(sign * outer)[2] + 60.0;
  std::vector<EndPoint> near;
  for (const auto& p : points) {
    const double out = sign * p.x();
    if (out < outer - reach) continue;
    const auto section = spine(p.x());
    const Eigen::Vector2d yz = p.tail<2>();
    near.push_back({out, yz, (yz - section.head<2>().transpose()) / std::max(1.0, section[2])});
  }
  return near;
}

using Plane = Eigen::Vector3d;  ///< out = [0] + [1] y + [2] z

double misfit(const EndPoint& p, const Plane& plane) {
  return p.out - plane[0] - plane.tail<2>().dot(p.yz);
}

/// The plane that most points of the disk lie near (MSAC: Torr and Zisserman 2000).
std::optional<Plane> plane_through_most(const std::vector<EndPoint>& disk) {
  std::optional<Plane> best;
  double least = 0;
  std::uint64_t state = 54321;
  const auto draw = [&]() -> const EndPoint& {
    state = state * 6364136223846793005ULL + 1442695040888963407ULL;
    return disk[static_cast<std::size_t>((state >> 33) % disk.size())];
  };
  for (int trial = 0; trial < 300; ++trial) {
    Eigen::Matrix3d rows;
    Eigen::Vector3d out;
    for (int i = 0; i < 3; ++i) {
      const auto& p = draw();
      rows.row(i) << 1.0, p.yz.x(), p.yz.y();
      out[i] = p.out;
    }
    if (std::abs(rows.determinant()) < 100.0) continue;
    const Plane plane = rows.inverse() * out;
    if (plane.tail<2>().norm() > steepest_face) continue;
    double cost = 0;
    for (const auto& p : disk) {
      const double share = misfit(p, plane) / face_thickness;
      cost += std::min(1.0, share * share);
    }
    if (!best || cost < least) {
      least = cost;
      best = plane;
    }
  }
  return best;
}

/// Tukey rounds from a first plane; `limit` empty = from the residuals' own spread.
Plane refine(const std::vector<EndPoint>& points, Plane plane, double widest) {
  for (int round = 0; round < 6; ++round) {
    std::vector<double> sizes;
    for (const auto& p : points) {
      const double size = std::abs(misfit(p, plane));
      if (size < widest) sizes.push_back(size);
    }
    const double limit = std::max(1.0, tukey_limit * sigma_of_mad * median(std::move(sizes)));
    Eigen::Matrix3d normal = 1e-9 * Eigen::Matrix3d::Identity();
    Eigen::Vector3d right = Eigen::Vector3d::Zero();
    for (const auto& p : points) {
      const double weight = tukey_weight(misfit(p, plane), std::min(limit, widest));
      const Eigen::Vector3d row(1.0, p.yz.x(), p.yz.y());
      normal += weight * row * row.transpose();
      right += weight * p.out * row;
    }
    plane = normal.ldlt().solve(right);
  }
  return plane;
}

/// Share of a 10 by 10 grid over the inner disk that holds face points.
double covered_share(const std::vector<EndPoint>& disk, const Plane& plane) {
  std::array<int, 100> held{};
  for (const auto& p : disk) {
    if (std::abs(misfit(p, plane)) > face_thickness) continue;
    const auto cell = [](double v) {
      return std::clamp(static_cast<int>((v / face_share + 1.0) * 5.0), 0, 9);
    };
    held[static_cast<std::size_t>(10 * cell(p.offset.x()) + cell(p.offset.y()))] = 1;
  }
  const auto count = std::count(held.begin(), held.end(), 1);
  return static_cast<double>(count) / 78.5;  // cells of the square that the disk touches, nearly
}

EndFace as_face(const Plane& plane, int sign) {
  return {.at = sign * plane[0], .slope = sign * plane.tail<2>()};
}

std::optional<EndFace> scanned_face(const std::vector<EndPoint>& near, int sign) {
  std::vector<EndPoint> disk;
  for (const auto& p : near) {
    if (p.offset.norm() < face_share) disk.push_back(p);
  }
  if (disk.size() < 25) return std::nullopt;
  const auto first = plane_through_most(disk);
  if (!first || covered_share(disk, *first) < 0.25) return std::nullopt;
  const Plane plane = refine(disk, *first, 2.0 * face_thickness);
  EndFace face = as_face(plane, sign);
  std::vector<double> sizes;
  for (const auto& p : disk) {
    const double size = std::abs(misfit(p, plane));
    if (size < 2.0 * face_thickness) sizes.push_back(size);
  }
  if (sizes.size() < disk.size() / 4) return std::nullopt;
  face.spread = sigma_of_mad * median(std::move(sizes));
  face.scanned = true;
  return face;
}

/// Where points that lie about evenly along x stop: dense points are counted in the last stretch,
/// so that noise along x does not lengthen the log; of sparse ones the second last counts, one may
/// be a stray.
std::optional<double> stop_of(std::vector<double> out) {
  if (out.size() < 8) return std::nullopt;
  std::sort(out.rbegin(), out.rend());
  const double outer = out[std::min<std::size_t>(2, out.size() / 8)];
  constexpr double stretch = 50.0;
  const auto within = [&](double from, double to) {
    return static_cast<double>(
        std::count_if(out.begin(), out.end(), [&](double v) { return v >= from && v < to; }));
  };
  const double reference = within(outer - 2.0 * stretch, outer - stretch);
  if (reference < 40) return out[1];
  const double counted = within(outer - stretch, out.front() + 1.0);
  return std::min(outer, outer - stretch + stretch * counted / reference);
}

/// The least squares plane.
Plane plane_of(const std::vector<EndPoint>& points) {
  Eigen::Matrix3d normal = 1e-9 * Eigen::Matrix3d::Identity();
  Eigen::Vector3d right = Eigen::Vector3d::Zero();
  for (const auto& p : points) {
    const Eigen::Vector3d row(1.0, p.yz.x(), p.yz.y());
    normal += row * row.transpose();
    right += p.out * row;
  }
  return normal.ldlt().solve(right);
}

EndFace stop_of_bark(const std::vector<EndPoint>& near, int sign) {
  constexpr int sectors = 24;
  std::array<std::vector<double>, sectors> out;
  std::array<Eigen::Vector2d, sectors> sum;
  sum.fill(Eigen::Vector2d::Zero());
  for (const auto& p : near) {
    if (p.offset.norm() < 0.5 || p.offset.norm() > 2.0) continue;
    const double turns = std::atan2(p.offset.y(), p.offset.x()) / (2.0 * std::numbers::pi);
    const auto sector =
        static_cast<std::size_t>(std::min(sectors - 1, static_cast<int>((turns + 0.5) * sectors)));
    out[sector].push_back(p.out);
    sum[sector] += p.yz;
  }
  std::vector<EndPoint> stops;
  std::vector<double> levels;
  for (std::size_t s = 0; s < sectors; ++s) {
    const auto stop = stop_of(out[s]);
    if (!stop) continue;
    stops.push_back({*stop, sum[s] / static_cast<double>(out[s].size()), {0, 0}});
    levels.push_back(*stop);
  }
  if (levels.empty()) {
    for (const auto& p : near) levels.push_back(p.out);
    return {.at = sign * quantile(std::move(levels), 0.98)};
  }
  Plane plane(median(levels), 0, 0);
  if (stops.size() >= sectors / 2) plane = refine(stops, plane_of(stops), 150.0);
  // Whatever cut it so steeply, the log is whole only up to the first sector that ends.
  if (plane.tail<2>().norm() > steepest_stop) plane = {quantile(std::move(levels), 0.05), 0, 0};
  return as_face(plane, sign);
}

/// The rim of an oblique end is not round: how far its innermost point lies out towards where the
/// face leans in, from the bark about there. Nearly the farthest point counts, since a lobe of a
/// fluted butt ends there as well.
double rim_of(const std::vector<EndPoint>& near, const Spine& spine, const EndFace& face,
              int sign) {
  constexpr double wide = 0.7;  // rad to either side
  if (face.slope.norm() < 0.02) return 1.0;
  const Eigen::Vector2d inward = -sign * face.slope.normalized();
  const double mean = spine(face.at)[2];
  const double innermost = sign * face.at - mean * face.slope.norm();
  std::vector<double> reach;
  for (const auto& p : near) {
    const double radius = p.offset.norm(), along = p.offset.dot(inward);
    if (p.out > innermost - 0.5 * mean && radius > 0.75 && radius < 1.4 &&
        along > std::cos(wide) * radius)
      reach.push_back(along);
  }
  return reach.size() < 40 ? 1.0 : quantile(std::move(reach), 0.88);
}

}  // namespace

EndFace find_end(const Cloud& points, const Spine& spine, int sign) {
  const auto near = near_end(points, spine, sign, 1.3);
  auto face = scanned_face(near, sign);
  if (!face) face = stop_of_bark(near_end(points, spine, sign, 3.2), sign);
  face->rim = rim_of(near, spine, *face, sign);
  return *face;
}

double whole_from(const EndFace& face, const Spine& spine, int sign) {
  const auto section = spine(face.at);
  const double at = face.x(section.head<2>().transpose());
  return at - sign * face.rim * section[2] * face.slope.norm();
}

EndFace moved(const EndFace& face, const Eigen::Isometry3d& move) {
  const Eigen::Vector3d normal =
      move.linear() * Eigen::Vector3d(1.0, -face.slope.x(), -face.slope.y());
  const double level = normal.dot(move * Eigen::Vector3d(face.at, 0.0, 0.0));
  EndFace there = face;
  there.at = level / normal.x();
  there.slope = -normal.tail<2>() / normal.x();
  return there;
}

}  // namespace kerfwright
