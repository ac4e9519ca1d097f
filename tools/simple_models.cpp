#include "simple_models.hpp"

#include <pcl/features/normal_3d.h>
#include <pcl/point_types.h>
#include <pcl/search/kdtree.h>
#include <pcl/segmentation/sac_segmentation.h>

#include <Eigen/Dense>
#include <algorithm>
#include <cmath>

#include "kerfwright/shape/bark.hpp"
#include "kerfwright/shape/measure.hpp"

namespace kerfwright {
namespace {

constexpr double slice = 50.0;  // mm
constexpr int angles = 128;

/// A round section: centre and radius at x.
struct Disc {
  double x = 0, y = 0, z = 0, radius = 0;
};

using Points = std::vector<Eigen::Vector3d>;

/// A solid of discs in a frame of its own.
struct Discs {
  Eigen::Isometry3d scan_to_own = Eigen::Isometry3d::Identity();
  std::vector<Disc> discs;  ///< x increasing
  double sigma = 0;
};

double quantile(std::vector<double> values, double share) {
  const auto place = static_cast<std::ptrdiff_t>(share * static_cast<double>(values.size() - 1));
  std::nth_element(values.begin(), values.begin() + place, values.end());
  return values[static_cast<std::size_t>(place)];
}

/// The frame with x along `axis` through `origin`, z as nearly up as that allows.
Eigen::Isometry3d frame_along(const Eigen::Vector3d& origin, const Eigen::Vector3d& axis,
                              const Eigen::Vector3d& up) {
  const Eigen::Vector3d x = axis.normalized();
  const Eigen::Vector3d y = up.cross(x).normalized();
  Eigen::Matrix3d rows;
  rows << x.transpose(), y.transpose(), x.cross(y).transpose();
  Eigen::Isometry3d frame = Eigen::Isometry3d::Identity();
  frame.linear() = rows;
  frame.translation() = -rows * origin;
  return frame;
}

/// The discs as a shape whose x runs from the first centre to the last, the thicker end first.
LogShape shape_of(const Scan& log, Discs model) {
  auto& discs = model.discs;
  const Eigen::Isometry3d back = model.scan_to_own.inverse();
  std::vector<Eigen::Vector3d> centres;
  for (const Disc& disc : discs) centres.push_back(back * Eigen::Vector3d(disc.x, disc.y, disc.z));
  if (discs.front().radius < discs.back().radius) {
    std::reverse(discs.begin(), discs.end());
    std::reverse(centres.begin(), centres.end());
  }
  const Eigen::Isometry3d frame =
      frame_along(centres.front(), centres.back() - centres.front(), log.up.value());
  LogShape shape;
  shape.source = log.source;
  shape.scan_to_log = frame.matrix() * log.file_to_scan;
  shape.angles = angles;
  for (std::size_t i = 0; i < discs.size(); ++i) {
    const Eigen::Vector3d centre = frame * centres[i];
    shape.stations.push_back(i == 0 ? 0.0 : centre.x());
    shape.axis.emplace_back(centre.y(), centre.z());
    shape.radius.emplace_back(angles, static_cast<float>(discs[i].radius));
    shape.sigma.emplace_back(angles, static_cast<float>(model.sigma));
    shape.seen.emplace_back(angles, static_cast<unsigned char>(1));
  }
  return shape;
}

Points in_frame(const Scan& log, const Eigen::Isometry3d& frame) {
  Points points;
  for (const auto& p : log.points) points.push_back(frame * p.cast<double>());
  return points;
}

double scatter(const std::vector<double>& residuals) {
  std::vector<double> sizes;
  for (const double r : residuals) sizes.push_back(std::abs(r));
  return 1.4826 * quantile(std::move(sizes), 0.5);
}

double tukey(double residual, double limit) {
  const double rest = 1.0 - residual * residual / (limit * limit);
  return rest > 0.0 ? rest * rest : 0.0;
}

/// Where the points begin and end along x, a thousandth left out on each side.
std::pair<double, double> reach_of(const Points& points) {
  std::vector<double> xs;
  for (const auto& p : points) xs.push_back(p.x());
  return {quantile(xs, 0.001), quantile(xs, 0.999)};
}

Discs straight(const Eigen::Isometry3d& frame, const std::pair<double, double>& reach,
               const Eigen::Matrix<double, 6, 1>& p, double sigma) {
  Discs model{frame, {}, sigma};
  const int steps = std::max(2, static_cast<int>((reach.second - reach.first) / slice));
  for (int i = 0; i <= steps; ++i) {
    const double x = reach.first + (reach.second - reach.first) * i / steps;
    model.discs.push_back({x, p[0] + p[2] * x, p[1] + p[3] * x, p[4] + p[5] * x});
  }
  return model;
}

/// One weighted Gauss-Newton step of y0, z0 and their slopes, r0 and its slope; with
/// `with_slopes` false a circle.
double step_frustum(const Points& points, Eigen::Matrix<double, 6, 1>& p, bool with_slopes) {
  std::vector<double> residuals;
  for (const auto& q : points) {
    const double dy = q.y() - p[0] - p[2] * q.x(), dz = q.z() - p[1] - p[3] * q.x();
    residuals.push_back(std::hypot(dy, dz) - p[4] - p[5] * q.x());
  }
  const double sigma = std::max(0.5, scatter(residuals));
  Eigen::Matrix<double, 6, 6> normal = Eigen::Matrix<double, 6, 6>::Identity() * 1e-9;
  Eigen::Matrix<double, 6, 1> right = Eigen::Matrix<double, 6, 1>::Zero();
  for (std::size_t i = 0; i < points.size(); ++i) {
    const double weight = tukey(residuals[i], 4.685 * sigma);
    if (weight <= 0.0) continue;
    const auto& q = points[i];
    const double dy = q.y() - p[0] - p[2] * q.x(), dz = q.z() - p[1] - p[3] * q.x();
    const double d = std::max(1e-9, std::hypot(dy, dz));
    const double x = with_slopes ? q.x() : 0.0;
    Eigen::Matrix<double, 6, 1> row;
    row << dy / d, dz / d, x * dy / d, x * dz / d, 1.0, x;
    normal += weight * row * row.transpose();
    right += weight * residuals[i] * row;
  }
  p += normal.ldlt().solve(right);
  return sigma;
}

Discs frustum_of(const Scan& log);

struct CylinderFit {
  Eigen::Isometry3d frame;
  double radius = 0;
};

CylinderFit pcl_cylinder(const Scan& log) {
  auto cloud = std::make_shared<pcl::PointCloud<pcl::PointXYZ>>();
  const std::size_t every = log.points.size() / 12000 + 1;
  for (std::size_t i = 0; i < log.points.size(); i += every) {
    cloud->emplace_back(log.points[i].x(), log.points[i].y(), log.points[i].z());
  }
  auto normals = std::make_shared<pcl::PointCloud<pcl::Normal>>();
  pcl::NormalEstimation<pcl::PointXYZ, pcl::Normal> estimate;
  estimate.setInputCloud(cloud);
  estimate.setSearchMethod(std::make_shared<pcl::search::KdTree<pcl::PointXYZ>>());
  estimate.setKSearch(30);
  estimate.compute(*normals);
  pcl::SACSegmentationFromNormals<pcl::PointXYZ, pcl::Normal> segment;
  segment.setModelType(pcl::SACMODEL_CYLINDER);
  segment.setMethodType(pcl::SAC_RANSAC);
  segment.setNormalDistanceWeight(0.1);
  segment.setDistanceThreshold(15.0);  // mm
  segment.setMaxIterations(5000);
  segment.setRadiusLimits(40.0, 500.0);
  segment.setOptimizeCoefficients(true);
  segment.setInputCloud(cloud);
  segment.setInputNormals(normals);
  pcl::PointIndices inliers;
  pcl::ModelCoefficients found;
  segment.segment(inliers, found);
  const auto& c = found.values;
  const Eigen::Vector3d origin(c.at(0), c.at(1), c.at(2)), axis(c.at(3), c.at(4), c.at(5));
  return {frame_along(origin, axis, log.up.value()), std::abs(static_cast<double>(c.at(6)))};
}

Discs frustum_of(const Scan& log) {
  const CylinderFit start = pcl_cylinder(log);
  const Points points = in_frame(log, start.frame);
  Eigen::Matrix<double, 6, 1> p;
  p << 0, 0, 0, 0, start.radius, 0;
  double sigma = 0;
  for (int round = 0; round < 20; ++round) sigma = step_frustum(points, p, true);
  return straight(start.frame, reach_of(points), p, sigma);
}

/// The circle of a slice, begun at the frustum's; empty where it has too few points or runs away.
std::optional<Disc> circle_of(const Points& points, const Disc& start, double& sigma) {
  if (points.size() < 40) return std::nullopt;
  Eigen::Matrix<double, 6, 1> p;
  p << start.y, start.z, 0, 0, start.radius, 0;
  for (int round = 0; round < 20; ++round) sigma = step_frustum(points, p, false);
  const bool wild = std::abs(p[4] - start.radius) > 0.6 * start.radius ||
                    std::hypot(p[0] - start.y, p[1] - start.z) > 2.0 * start.radius;
  return wild ? std::nullopt : std::optional<Disc>({start.x, p[0], p[1], p[4]});
}

}  // namespace

LogShape taped_frustum(const LogShape& truth) {
  const LogMeasures m = measure(truth);
  LogShape shape = truth;
  for (std::size_t i = 0; i < shape.stations.size(); ++i) {
    const double share = shape.stations[i] / shape.length();
    const double radius =
        0.5 * ((1.0 - share) * m.butt.mean_over_bark + share * m.top.mean_over_bark);
    shape.axis[i] = (1.0 - share) * truth.axis.front() + share * truth.axis.back();
    std::fill(shape.radius[i].begin(), shape.radius[i].end(), static_cast<float>(radius));
  }
  return shape;
}

LogShape ransac_cylinder(const Scan& log) {
  const CylinderFit fit = pcl_cylinder(log);
  const Points points = in_frame(log, fit.frame);
  std::vector<double> residuals;
  for (const auto& q : points) residuals.push_back(std::hypot(q.y(), q.z()) - fit.radius);
  Eigen::Matrix<double, 6, 1> p;
  p << 0, 0, 0, 0, fit.radius, 0;
  return shape_of(log, straight(fit.frame, reach_of(points), p, scatter(residuals)));
}

LogShape fitted_frustum(const Scan& log) { return shape_of(log, frustum_of(log)); }

LogShape circles_by_slice(const Scan& log) {
  Discs model = frustum_of(log);
  std::vector<Points> slices(model.discs.size());
  const double first = model.discs.front().x;
  const double step = (model.discs.back().x - first) / static_cast<double>(slices.size() - 1);
  for (const auto& q : in_frame(log, model.scan_to_own)) {
    const auto i = static_cast<std::ptrdiff_t>(std::lround((q.x() - first) / step));
    if (i < 0 || i >= static_cast<std::ptrdiff_t>(slices.size())) continue;
    slices[static_cast<std::size_t>(i)].push_back(q);
  }
  std::vector<double> sigmas;
  for (std::size_t i = 0; i < slices.size(); ++i) {
    double sigma = model.sigma;
    const auto disc = circle_of(slices[i], model.discs[i], sigma);
    if (!disc) continue;
    model.discs[i] = *disc;
    sigmas.push_back(sigma);
  }
  if (!sigmas.empty()) model.sigma = quantile(sigmas, 0.5);
  return shape_of(log, std::move(model));
}

}  // namespace kerfwright
