// Scans of standing trees that nobody measured: held-out points must lie as near to the surface as
// the scanner's own noise lets them.

#include <gtest/gtest.h>

#include <Eigen/Dense>
#include <algorithm>
#include <filesystem>
#include <fstream>

#include "kerfwright/shape/fit_shape.hpp"
#include "kerfwright/shape/measure.hpp"
#include "kerfwright/shape/section.hpp"

namespace kerfwright {
namespace {

struct Stem {
  const char* file;
  double length;  ///< mm, by the README beside the scans, along the vertical
  double median;  ///< mm, allowed for held-out points; bark noise is "about a centimetre" there
};

void PrintTo(const Stem& stem, std::ostream* out) { *out << stem.file; }

std::filesystem::path folder() {
  return std::filesystem::path(KERFWRIGHT_SOURCE_DIR).parent_path() / "shared" / "real-stems";
}

class RealStem : public testing::TestWithParam<Stem> {};

TEST_P(RealStem, HeldOutPointsLieOnTheSurfaceWithinTheBarksOwnNoise) {
  const auto path = folder() / GetParam().file;
  if (!std::filesystem::exists(path))
    GTEST_SKIP() << "the scans of real stems are not here: " << path;
  std::ifstream file(path);
  Scan scan;
  std::vector<Eigen::Vector3f> held_out;
  Eigen::Vector3f p;
  for (int i = 0; file >> p.x() >> p.y() >> p.z(); ++i) {
    (i % 5 == 4 ? held_out : scan.points).push_back(1000.0F * p);
  }
  const LogShape shape = fit_shape(scan, {});
  EXPECT_NEAR(shape.length(), GetParam().length, 0.03 * GetParam().length);
  std::vector<double> distance;
  for (const auto& point : held_out) {
    const Eigen::Vector3d in_log =
        (shape.scan_to_log * point.cast<double>().homogeneous()).head<3>();
    if (in_log.x() < 0.0 || in_log.x() > shape.length()) continue;
    distance.push_back(std::abs(depth_inside(shape, in_log, Bark::on)));
  }
  std::sort(distance.begin(), distance.end());
  EXPECT_LT(distance[distance.size() / 2], GetParam().median);
}

INSTANTIATE_TEST_SUITE_P(All, RealStem,
                         testing::Values(Stem{"flared-butt.xyz", 3200, 6.0},
                                         Stem{"plain-stem.xyz", 4000, 6.0},
                                         Stem{"crooked-pole.xyz", 8000, 6.0}));

}  // namespace
}  // namespace kerfwright
