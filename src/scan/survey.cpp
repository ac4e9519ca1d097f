#include "survey.hpp"

#include <Eigen/Eigenvalues>
#include <algorithm>
#include <array>
#include <cstdio>

namespace kerfwright {
namespace {

CloudExtent widened(const CloudExtent& extent) {
  const Eigen::Vector3d margin =
      0.3 * extent.size() + Eigen::Vector3d::Constant(0.1 * extent.size().maxCoeff());
  return {extent.low - margin, extent.high + margin};
}

std::string in_metres(double mm) {
  std::array<char, 32> text{};
  std::snprintf(text.data(), text.size(), mm < 1000.0 ? "%.2f" : "%.1f", mm / 1000.0);
  return text.data();
}

/// The three sizes of a group, the longest first, along its own axes.
Eigen::Vector3d sizes_of(const Points& points) {
  Eigen::Vector3d mean = Eigen::Vector3d::Zero();
  for (const Eigen::Vector3f& p : points)
    mean += p.cast<double>() / static_cast<double>(points.size());
  Eigen::Matrix3d spread = Eigen::Matrix3d::Zero();
  for (const Eigen::Vector3f& p : points)
    spread += (p.cast<double>() - mean) * (p.cast<double>() - mean).transpose();
  const Eigen::Matrix3d axes =
      Eigen::SelfAdjointEigenSolver<Eigen::Matrix3d>(spread).eigenvectors();
  std::vector<Eigen::Vector3d> turned;
  for (const Eigen::Vector3f& p : points) turned.push_back(axes.transpose() * p.cast<double>());
  return robust_extent(turned).size().reverse();
}

std::string flat_surface(double length, double width) {
  return "a flat surface of " + in_metres(length) + " by " + in_metres(width) + " m";
}

}  // namespace

Yard survey(const Points& points, const std::optional<Eigen::Vector3d>& up) {
  const CloudExtent extent = robust_extent(points);
  const double longest = extent.size().maxCoeff();
  Yard yard;
  yard.leaf = std::max(std::min(longest / 200.0, 20.0), longest / 1200.0);
  const Points thin = thin_points(points, widened(extent), yard.leaf);
  yard.ground = find_ground(thin, yard.leaf, up ? &*up : nullptr);
  for (const Eigen::Vector3f& p : thin)
    if (!yard.ground || yard.ground->height(p.cast<double>()) > yard.ground->reach())
      yard.objects.push_back(p);
  yard.objects = without_strays(yard.objects);
  // A sparse cloud is searched as coarsely as it is.
  yard.leaf = std::max(yard.leaf, 0.8 * usual_spacing(yard.objects));
  yard.groups = connected_groups(yard.objects, 4.0 * yard.leaf, 40);
  return yard;
}

std::string describe(const Yard& yard, double scale) {
  std::vector<std::string> things;
  if (yard.ground)
    things.push_back(flat_surface(yard.ground->length() / scale, yard.ground->width() / scale));
  std::size_t loose = yard.objects.size();
  if (!yard.groups.empty()) {
    Points group;
    for (const std::uint32_t i : yard.groups[0]) group.push_back(yard.objects[i]);
    const Eigen::Vector3d size = sizes_of(group) / scale;
    things.push_back(size.z() < 0.03 * size.y()
                         ? flat_surface(size.x(), size.y())
                         : "a thing of " + in_metres(size.x()) + " by " + in_metres(size.y()) +
                               " by " + in_metres(size.z()) +
                               " m that is not round along its length");
    for (const auto& g : yard.groups) loose -= g.size();
  }
  if (loose > 0 || things.empty()) things.push_back(std::to_string(loose) + " loose points");
  std::string words = things[0];
  for (std::size_t i = 1; i < things.size(); ++i)
    words += (i + 1 < things.size() ? ", " : " and ") + things[i];
  return words;
}

}  // namespace kerfwright
