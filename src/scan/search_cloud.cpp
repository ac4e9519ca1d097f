#include "search_cloud.hpp"

#include <pcl/console/print.h>
#include <pcl/filters/statistical_outlier_removal.h>
#include <pcl/filters/voxel_grid.h>
#include <pcl/kdtree/kdtree_flann.h>
#include <pcl/point_cloud.h>
#include <pcl/point_types.h>
#include <pcl/sample_consensus/ransac.h>
#include <pcl/sample_consensus/sac_model_perpendicular_plane.h>

#include <Eigen/Eigenvalues>
#include <Eigen/Geometry>
#include <algorithm>
#include <cmath>
#include <numbers>
#include <pcl/segmentation/impl/extract_clusters.hpp>

#include "quantile.hpp"

namespace kerfwright {
namespace {

using Cloud = pcl::PointCloud<pcl::PointXYZ>;

/// Everything goes into PCL through here, and PCL writes to the console unless told not to.
Cloud::Ptr to_pcl(const Points& points) {
  pcl::console::setVerbosityLevel(pcl::console::L_ALWAYS);
  auto cloud = std::make_shared<Cloud>();
  cloud->resize(points.size());
  for (std::size_t i = 0; i < points.size(); ++i) (*cloud)[i].getVector3fMap() = points[i];
  return cloud;
}

CloudExtent full_extent(const Points& points) {
  Eigen::AlignedBox3f box;
  for (const Eigen::Vector3f& p : points) box.extend(p);
  return {box.min().cast<double>(), box.max().cast<double>()};
}

Points from_pcl(const Cloud& cloud) {
  Points points(cloud.size());
  for (std::size_t i = 0; i < points.size(); ++i) points[i] = cloud[i].getVector3fMap();
  return points;
}

Eigen::Vector3d smallest_direction(const Points& points, const pcl::Indices& neighbours) {
  Eigen::Vector3d mean = Eigen::Vector3d::Zero();
  for (const auto i : neighbours) mean += points[static_cast<std::size_t>(i)].cast<double>();
  mean /= static_cast<double>(neighbours.size());
  Eigen::Matrix3d spread = Eigen::Matrix3d::Zero();
  for (const auto i : neighbours) {
    const Eigen::Vector3d d = points[static_cast<std::size_t>(i)].cast<double>() - mean;
    spread += d * d.transpose();
  }
  return Eigen::SelfAdjointEigenSolver<Eigen::Matrix3d>(spread).eigenvectors().col(0);
}

}  // namespace

Points thin_points(const Points& points, const CloudExtent& box, double leaf) {
  const Eigen::Array3f low = box.low.cast<float>();
  const Eigen::Array3f high = box.high.cast<float>();
  Points within;
  within.reserve(points.size());
  for (const Eigen::Vector3f& p : points)
    if ((p.array() >= low).all() && (p.array() <= high).all()) within.push_back(p);
  if (within.empty()) return {};
  pcl::VoxelGrid<pcl::PointXYZ> grid;
  grid.setInputCloud(to_pcl(within));
  // PCL numbers the cubes of the whole box with 31 bits and gives up where those do not do.
  const CloudExtent used = full_extent(within);
  const double cubes = 1.5e9;
  const auto side =
      static_cast<float>(std::max(leaf, std::cbrt((used.size().array() + leaf).prod() / cubes)));
  grid.setLeafSize(side, side, side);
  Cloud thin;
  grid.filter(thin);
  return from_pcl(thin);
}

Points without_strays(const Points& points) {
  if (points.size() < 50) return points;
  pcl::StatisticalOutlierRemoval<pcl::PointXYZ> filter;
  filter.setInputCloud(to_pcl(points));
  filter.setMeanK(6);
  filter.setStddevMulThresh(3.0);
  Cloud kept;
  filter.filter(kept);
  return from_pcl(kept);
}

double usual_spacing(const Points& points) {
  constexpr int nearest_points = 5;  // the point itself and four more
  if (points.size() < nearest_points) return 0.0;
  pcl::KdTreeFLANN<pcl::PointXYZ> tree;
  const Cloud::Ptr cloud = to_pcl(points);
  tree.setInputCloud(cloud);
  std::vector<double> distances;
  pcl::Indices nearest;
  std::vector<float> squares;
  for (std::size_t i = 0; i < points.size(); i += points.size() / 500 + 1) {
    tree.nearestKSearch((*cloud)[i], nearest_points, nearest, squares);
    distances.push_back(std::sqrt(squares.back()));
  }
  // Four points in a circle of this radius.
  return take_quantile(distances) * std::sqrt(std::numbers::pi / 4.0);
}

std::vector<std::vector<std::uint32_t>> connected_groups(const Points& points, double gap,
                                                         std::size_t least) {
  if (points.empty()) return {};
  const Cloud::Ptr cloud = to_pcl(points);
  auto tree = std::make_shared<pcl::search::KdTree<pcl::PointXYZ>>();
  tree->setInputCloud(cloud);
  pcl::EuclideanClusterExtraction<pcl::PointXYZ> extraction;
  extraction.setInputCloud(cloud);
  extraction.setSearchMethod(tree);
  extraction.setClusterTolerance(gap);
  extraction.setMinClusterSize(static_cast<pcl::uindex_t>(least));
  std::vector<pcl::PointIndices> found;
  extraction.extract(found);
  std::vector<std::vector<std::uint32_t>> groups;
  for (const pcl::PointIndices& group : found) {
    groups.emplace_back(group.indices.begin(), group.indices.end());
    std::sort(groups.back().begin(), groups.back().end());
  }
  // Of two groups of one size the one that begins earlier in the cloud comes first.
  std::sort(groups.begin(), groups.end(), [](const auto& a, const auto& b) {
    return a.size() != b.size() ? a.size() > b.size() : a.front() < b.front();
  });
  return groups;
}

std::vector<std::uint32_t> even_pick(std::size_t count, std::size_t most) {
  const std::size_t step = count / most + 1;
  std::vector<std::uint32_t> picked;
  for (std::size_t i = 0; i < count; i += step) picked.push_back(static_cast<std::uint32_t>(i));
  return picked;
}

std::vector<Eigen::Vector3d> estimate_normals(const Points& points,
                                              const std::vector<std::uint32_t>& at,
                                              int neighbours) {
  pcl::KdTreeFLANN<pcl::PointXYZ> tree;
  const Cloud::Ptr cloud = to_pcl(points);
  tree.setInputCloud(cloud);
  std::vector<Eigen::Vector3d> normals(at.size());
  const auto count = static_cast<std::ptrdiff_t>(at.size());
#pragma omp parallel for schedule(static)
  for (std::ptrdiff_t i = 0; i < count; ++i) {
    pcl::Indices nearest;
    std::vector<float> squares;
    const auto slot = static_cast<std::size_t>(i);
    tree.nearestKSearch((*cloud)[at[slot]], static_cast<unsigned int>(neighbours), nearest,
                        squares);
    normals[slot] = smallest_direction(points, nearest);
  }
  return normals;
}

Plane find_plane(const Points& points, double band, const Eigen::Vector3d* along) {
  if (points.size() < 10) return {};
  using Model = pcl::SampleConsensusModelPlane<pcl::PointXYZ>;  // fixed seed unless asked otherwise
  Model::Ptr model;
  if (along) {
    const auto leaning =
        std::make_shared<pcl::SampleConsensusModelPerpendicularPlane<pcl::PointXYZ>>(
            to_pcl(points));
    leaning->setAxis(along->cast<float>());
    leaning->setEpsAngle(30.0 * 3.14159265358979 / 180.0);
    model = leaning;
  } else {
    model = std::make_shared<Model>(to_pcl(points));
  }
  pcl::RandomSampleConsensus<pcl::PointXYZ> search(model, band);
  search.setMaxIterations(300);
  if (!search.computeModel()) return {};
  pcl::Indices inliers;
  search.getInliers(inliers);
  Eigen::VectorXf rough, plane;
  search.getModelCoefficients(rough);
  model->optimizeModelCoefficients(inliers, rough, plane);
  model->selectWithinDistance(plane, band, inliers);
  if (plane.size() != 4 || inliers.size() < 10) return {};
  const Eigen::Vector3d normal = plane.head<3>().cast<double>();
  const double length = normal.norm();
  return {normal / length, -static_cast<double>(plane[3]) / length, true};
}

}  // namespace kerfwright
