#include <gtest/gtest.h>

#include <cmath>

#include "kerfwright/shape/shape_of_scan.hpp"
#include "scan/las_file.hpp"
#include "scan/scan_files.hpp"
#include "scan/small_yard.hpp"

// From a file of each kind to a shape.

namespace kerfwright {
namespace {

/// A log on grass, every coordinate a whole number of tenths of a millimetre, as LAS and texts have
/// them; metres, z up.
std::vector<Eigen::Vector3d> yard_points() {
  SmallYard yard;
  Draws draws;
  add_log(yard, draws, 20000, {.lowest_seen = -0.75}, 0.0);
  add_ground(yard, draws, 12000);
  for (Eigen::Vector3d& p : yard.points) p = (p * 1e4).array().round() / 1e4;
  return yard.points;
}

std::vector<Eigen::Vector3d> moved(const std::vector<Eigen::Vector3d>& points,
                                   const Eigen::Vector3d& by) {
  std::vector<Eigen::Vector3d> there;
  for (const Eigen::Vector3d& p : points) there.emplace_back(p + by);
  return there;
}

std::string ply_of(const std::vector<Eigen::Vector3d>& points) {
  return "ply\nformat binary_little_endian 1.0\nelement vertex " + std::to_string(points.size()) +
         "\nproperty double x\nproperty double y\nproperty double z\nend_header\n" +
         binary_rows<double>(points);
}

std::string pcd_of(const std::vector<Eigen::Vector3d>& points) {
  const std::string count = std::to_string(points.size());
  return "# .PCD v0.7\nVERSION 0.7\nFIELDS x y z\nSIZE 8 8 8\nTYPE F F F\nCOUNT 1 1 1\nWIDTH " +
         count + "\nHEIGHT 1\nPOINTS " + count + "\nDATA binary\n" + binary_rows<double>(points);
}

std::string obj_of(const std::vector<Eigen::Vector3d>& points) {
  std::string text;
  for (const Eigen::Vector3d& p : points) text += "v " + ascii_rows({p});
  return text;
}

std::string las_of(const std::vector<Eigen::Vector3d>& points) {
  LasFile file{.minor = 4, .format = 6};
  file.points = points;
  file.scale.setConstant(1e-4);
  file.offset = points[0].array().round();
  return las_bytes(file);
}

ShapeOfScan shape_of(const std::string& name, const std::string& bytes) {
  return shape_of_scan(scratch_file(name, bytes), {});
}

/// mm, the largest difference between two shapes in length or in any radius.
double largest_difference(const LogShape& a, const LogShape& b) {
  double largest = std::abs(a.length() - b.length());
  if (a.radius.size() != b.radius.size()) return 1e300;
  for (std::size_t i = 0; i < a.radius.size(); ++i)
    for (std::size_t j = 0; j < a.radius[i].size(); ++j)
      largest = std::max(largest, std::abs(static_cast<double>(a.radius[i][j] - b.radius[i][j])));
  return largest;
}

TEST(ManyKinds, GiveTheSameShapeFarFromTheOriginAsNearIt) {
  const auto near = yard_points();
  const auto far = moved(near, {4512345.3, 5401234.7, 312.1});
  const LogShape shape = shape_of("near.xyz", ascii_rows(near)).shape;
  ASSERT_NEAR(shape.length(), 2400.0, 30.0);
  for (const auto& [name, bytes] :
       {std::pair{"far.xyz", ascii_rows(far)}, std::pair{"far.ply", ply_of(far)},
        std::pair{"far.pcd", pcd_of(far)}, std::pair{"far.obj", obj_of(far)},
        std::pair{"far.las", las_of(far)}})
    EXPECT_LT(largest_difference(shape, shape_of(name, bytes).shape), 0.05) << name;
}

TEST(ManyKinds, TakeTheWayUpFromTheGroundWhicheverAxisItIs) {
  for (const int up : {1, 2}) {
    std::vector<Eigen::Vector3d> points = yard_points();
    if (up == 1)
      for (Eigen::Vector3d& p : points) p = Eigen::Vector3d(p.x(), p.z(), -p.y());
    const ShapeOfScan found = shape_of("yard.ply", ply_of(points));
    // The third row of the way into the log frame is the log's up in the axes of the file.
    const Eigen::Vector3d upward = found.shape.scan_to_log.row(2).head<3>().transpose();
    EXPECT_GT(upward.normalized()[up], 0.999) << "axis " << up;
    EXPECT_NEAR(found.shape.length(), 2400.0, 30.0);
  }
}

}  // namespace
}  // namespace kerfwright
