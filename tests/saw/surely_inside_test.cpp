#include "surely_inside.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <random>

#include "kerfwright/shape/section.hpp"
#include "shapes.hpp"

namespace kerfwright {
namespace {

/// A rough surface under bark that varies, in that many samples round a section.
LogShape rough(std::mt19937& draw, int angles) {
  const auto drawn = [&](double low, double high) {
    return std::uniform_real_distribution<double>(low, high)(draw);
  };
  LogShape shape = shapes::bowed(1000, 110, 90, 30);
  shape.angles = angles;
  const double flutes = drawn(0, 25), roughness = drawn(0, 4);
  for (std::size_t i = 0; i < shape.stations.size(); ++i) {
    shape.axis[i].y() = drawn(-2, 2);
    shape.bark_at_station.push_back(drawn(2, 9));
    shape.radius[i].assign(static_cast<std::size_t>(angles), 0.0F);
    for (int j = 0; j < angles; ++j) {
      const double turn = 6.283185307 * j / angles;
      shape.radius[i][static_cast<std::size_t>(j)] =
          static_cast<float>(100.0 + flutes * std::cos(5.0 * turn) + roughness * drawn(-1, 1));
    }
  }
  return shape;
}

TEST(SurelyInside, IsNeverSaidOfAPointOutsideAndMostlyOfOneInside) {
  std::mt19937 draw(3);
  std::uniform_real_distribution<double> share(0.0, 1.0);
  for (const int angles : {16, 24, 48, 64, 90, 128}) {
    const LogShape shape = rough(draw, angles);
    const saw::SurelyInside surely(shape);
    int inside = 0, said = 0;
    for (int n = 0; n < 20000; ++n) {
      const double x = -20.0 + 1040.0 * share(draw);
      // Every third straight along an axis or half between two, where sectors meet.
      const double turn =
          n % 3 == 0 ? 6.283185307179586 * (n % 16) / 16.0 : 6.283185307179586 * share(draw);
      const double out = 140.0 * std::sqrt(share(draw));
      const Eigen::Vector2d centre = axis_at(shape, std::clamp(x, 0.0, shape.length()));
      const Eigen::Vector3d point(x, centre.x() + out * std::cos(turn),
                                  centre.y() + out * std::sin(turn));
      const double depth = depth_inside(shape, point, Bark::off);
      if (depth > 0.0) ++inside;
      if (!surely.inside(point, point)) continue;
      ++said;
      EXPECT_GE(depth, -1e-9) << angles << " samples, " << point.transpose();
    }
    EXPECT_GT(said, angles < 32 ? inside / 2 : 7 * inside / 10) << angles << " samples";
  }
}

// Sides of sections of boards: across the log, leaning along it a little.
TEST(SurelyInside, IsNeverSaidOfALineThatLeavesTheWood) {
  std::mt19937 draw(4);
  std::uniform_real_distribution<double> share(-1.0, 1.0);
  for (const int angles : {16, 48, 64, 90}) {
    const LogShape shape = rough(draw, angles);
    const saw::SurelyInside surely(shape);
    int inside = 0, said = 0;
    for (int n = 0; n < 4000; ++n) {
      const double x = 500.0 + 510.0 * share(draw);
      const auto end = [&] {
        const double at = x + 5.0 * share(draw);
        const Eigen::Vector2d centre = axis_at(shape, std::clamp(at, 0.0, shape.length()));
        return Eigen::Vector3d(at, centre.x() + 110.0 * share(draw),
                               centre.y() + 110.0 * share(draw));
      };
      const Eigen::Vector3d from = end(), to = end();
      double least = 1e9;
      for (int k = 0; k <= 50; ++k) {
        const Eigen::Vector3d point = from + (to - from) * k / 50.0;
        least = std::min(least, depth_inside(shape, point, Bark::off));
      }
      if (least > 0.0) ++inside;
      if (!surely.inside(from, to)) continue;
      ++said;
      EXPECT_GE(least, -1e-9) << angles << " samples, " << from.transpose();
    }
    EXPECT_GT(said, inside / 4) << angles << " samples";
  }
}

}  // namespace
}  // namespace kerfwright
