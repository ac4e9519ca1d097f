#include "report/rivals.hpp"

#include <Eigen/Dense>
#include <Eigen/Sparse>
#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>
#include <vector>

#include "kerfwright/trade/scaling.hpp"

namespace kerfwright {
namespace {

constexpr double turn = 2.0 * std::numbers::pi;
constexpr double from_end = 6.0;  ///< mm, nearer points may lie on an end face

/// A bark point about the frame's axis, with the station it is nearest to.
struct BarkPoint {
  std::size_t station = 0;
  Eigen::Vector2d arm{0, 0};
};

std::vector<BarkPoint> bark_points(const Scan& log, const LogShape& frame) {
  const Eigen::Matrix4d to_log = frame.scan_to_log * log.file_to_scan.inverse();
  const auto last = frame.stations.size() - 1;
  std::vector<BarkPoint> points;
  for (const auto& point : log.points) {
    const Eigen::Vector3d p = (to_log * point.cast<double>().homogeneous()).head<3>();
    if (p.x() < from_end || p.x() > frame.length() - from_end) continue;
    const auto after = std::upper_bound(frame.stations.begin(), frame.stations.end(), p.x());
    const auto next = std::min(static_cast<std::size_t>(after - frame.stations.begin()), last);
    const double gap = frame.stations[next] - frame.stations[next - 1];
    const double share = (p.x() - frame.stations[next - 1]) / gap;
    const Eigen::Vector2d centre = (1.0 - share) * frame.axis[next - 1] + share * frame.axis[next];
    points.push_back({share < 0.5 ? next - 1 : next, p.tail<2>() - centre});
  }
  return points;
}

double middle(std::vector<double> values) {
  const auto half = values.begin() + static_cast<std::ptrdiff_t>(values.size() / 2);
  std::nth_element(values.begin(), half, values.end());
  return *half;
}

LogShape without_radii(const LogShape& frame) {
  LogShape shape = frame;
  for (auto& section : shape.sigma) std::fill(section.begin(), section.end(), 0.0F);
  return shape;
}

using Triplets = std::vector<Eigen::Triplet<double>>;

/// Squared second difference of three unknowns.
void bend(Triplets& entries, const std::array<int, 3>& at, double stiffness) {
  constexpr std::array<double, 3> difference{1.0, -2.0, 1.0};
  for (std::size_t a = 0; a < 3; ++a) {
    for (std::size_t b = 0; b < 3; ++b) {
      entries.emplace_back(at[a], at[b], stiffness * difference[a] * difference[b]);
    }
  }
}

Eigen::VectorXd smoothed(const std::vector<std::vector<double>>& cells, int rows, int columns) {
  constexpr double stiffness = 300.0;  // of the weight of one point
  Triplets entries;
  Eigen::VectorXd right = Eigen::VectorXd::Zero(rows * columns);
  for (int row = 0; row < rows; ++row) {
    for (int column = 0; column < columns; ++column) {
      const int at = row * columns + column;
      const auto& held = cells[static_cast<std::size_t>(at)];
      if (!held.empty()) {
        entries.emplace_back(at, at, static_cast<double>(held.size()));
        right[at] = static_cast<double>(held.size()) * middle(held);
      }
      const int left = row * columns + (column + columns - 1) % columns;
      const int other = row * columns + (column + 1) % columns;
      bend(entries, {left, at, other}, stiffness);
      if (row > 0 && row + 1 < rows) bend(entries, {at - columns, at, at + columns}, stiffness);
    }
  }
  Eigen::SparseMatrix<double> equations(rows * columns, rows * columns);
  equations.setFromTriplets(entries.begin(), entries.end());
  const Eigen::SimplicialLDLT<Eigen::SparseMatrix<double>> solver(equations);
  return solver.solve(right);
}

struct Round {
  Eigen::Vector2d centre{0, 0};
  double radius = 0;
};

/// Kasa's circle: y^2 + z^2 = 2 a y + 2 b z + c, least squares, points far off weighted down.
Round circle_through(const std::vector<Eigen::Vector2d>& points, Round circle) {
  for (int round = 0; round < 10; ++round) {
    std::vector<double> sizes;
    for (const auto& p : points) {
      sizes.push_back(std::abs((p - circle.centre).norm() - circle.radius));
    }
    const double limit = 4.685 * 1.4826 * std::max(0.3, middle(sizes));
    Eigen::Matrix3d normal = 1e-9 * Eigen::Matrix3d::Identity();
    Eigen::Vector3d right = Eigen::Vector3d::Zero();
    for (std::size_t i = 0; i < points.size(); ++i) {
      const double share = sizes[i] / limit;
      if (share >= 1.0) continue;
      const double weight = std::pow(1.0 - share * share, 2);
      const Eigen::Vector3d row(2.0 * points[i].x(), 2.0 * points[i].y(), 1.0);
      normal += weight * row * row.transpose();
      right += weight * points[i].squaredNorm() * row;
    }
    const Eigen::Vector3d solution = normal.ldlt().solve(right);
    circle.centre = solution.head<2>();
    circle.radius = std::sqrt(std::max(1.0, solution[2] + circle.centre.squaredNorm()));
  }
  return circle;
}

/// From the origin along `angle` to the circle, which holds the origin.
double reach(const Round& circle, double angle) {
  const Eigen::Vector2d ray(std::cos(angle), std::sin(angle));
  const double along = ray.dot(circle.centre);
  const double across2 = circle.centre.squaredNorm() - along * along;
  return along + std::sqrt(std::max(0.0, circle.radius * circle.radius - across2));
}

/// Circumference of the convex hull over pi, by Cauchy's formula: the mean width.
double taped_diameter(const InventedLog& log, double x) {
  constexpr int ways = 180, angles = 720;
  double sum = 0;
  for (int w = 0; w < ways; ++w) {
    const double way = 0.5 * turn * w / ways;
    double most = -1e9, least = 1e9;
    for (int j = 0; j < angles; ++j) {
      const double at = log.radius(x, turn * j / angles) * std::cos(turn * j / angles - way);
      most = std::max(most, at), least = std::min(least, at);
    }
    sum += (most - least) / ways;
  }
  return sum;
}

}  // namespace

LogShape cell_medians(const Scan& log, const LogShape& frame) {
  const int rows = static_cast<int>(frame.stations.size()), columns = frame.angles;
  std::vector<std::vector<double>> cells(static_cast<std::size_t>(rows * columns));
  for (const BarkPoint& p : bark_points(log, frame)) {
    const double turns = std::atan2(p.arm.y(), p.arm.x()) / turn;
    const auto column = static_cast<int>(std::lround((turns + 1.0) * columns)) % columns;
    cells[p.station * static_cast<std::size_t>(columns) + static_cast<std::size_t>(column)]
        .push_back(p.arm.norm());
  }
  const Eigen::VectorXd radii = smoothed(cells, rows, columns);
  LogShape shape = without_radii(frame);
  for (int row = 0; row < rows; ++row) {
    for (int column = 0; column < columns; ++column) {
      shape.radius[static_cast<std::size_t>(row)][static_cast<std::size_t>(column)] =
          static_cast<float>(radii[row * columns + column]);
    }
  }
  return shape;
}

LogShape circles_by_slice(const Scan& log, const LogShape& frame) {
  std::vector<std::vector<Eigen::Vector2d>> slices(frame.stations.size());
  for (const BarkPoint& p : bark_points(log, frame)) slices[p.station].push_back(p.arm);
  LogShape shape = without_radii(frame);
  Round circle;
  for (std::size_t i = 0; i < slices.size(); ++i) {
    if (slices[i].size() >= 10) {
      std::vector<double> arms;
      for (const auto& arm : slices[i]) arms.push_back(arm.norm());
      circle = circle_through(slices[i], {{0, 0}, middle(std::move(arms))});
    }
    for (int j = 0; j < shape.angles; ++j) {
      shape.radius[i][static_cast<std::size_t>(j)] =
          static_cast<float>(reach(circle, turn * j / shape.angles));
    }
    shape.axis[i] = frame.axis[i];
  }
  return shape;
}

TapedVolumes taped(const InventedLog& log) {
  const double butt = taped_diameter(log, 0.0), top = taped_diameter(log, log.length);
  const double at_butt = circle_area(1e-3 * butt), at_top = circle_area(1e-3 * top);
  const double length = 1e-3 * log.length;
  return {smalian_volume(at_top, at_butt, length), cone_frustum_volume(at_top, at_butt, length)};
}

}  // namespace kerfwright
