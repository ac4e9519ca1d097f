#include <gtest/gtest.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <set>

#include "kerfwright/error.hpp"
#include "kerfwright/scan/find_log.hpp"
#include "scratch.hpp"
#include "small_yard.hpp"

namespace kerfwright {
namespace {

/// How far a section reaches, m, at an angle from up.
using Outline = std::function<double(double)>;

/// An ellipse as large as a circle of 16 cm; `ratio` below 1 stands on edge.
Outline ellipse(double ratio) {
  return [ratio](double turn) {
    return 0.16 /
           std::sqrt(std::pow(std::sin(turn), 2) / ratio + std::pow(std::cos(turn), 2) * ratio);
  };
}

/// Two rounds of 13 cm that have grown together, their hearts `apart` of a radius apart.
Outline two_hearts(double apart) {
  return [c = 0.5 * apart](double turn) {
    const double s = std::abs(std::sin(turn));
    return 0.13 * (s * c + std::sqrt(1.0 - c * c * (1.0 - s * s)));
  };
}

/// What a split through the heart leaves of a log of 22 cm radius; the flat side is up or down.
Outline half_log(bool flat_up) {
  return [flat_up](double turn) {
    constexpr double radius = 0.22, off = 0.4 * radius;  // from the log's heart
    const double up = (flat_up ? -1.0 : 1.0) * std::cos(turn);
    const double s = std::sin(turn);
    const double bark = -off * up + std::sqrt(radius * radius - off * off * s * s);
    return up < 0.0 ? std::min(bark, -off / up) : bark;
  };
}

struct Found {
  double kept = 0.0;     ///< of the log's own points
  double strange = 0.0;  ///< of the points that were kept
};

/// A log of such sections on grass and two timbers.
SmallYard yard_with(const Outline& outline, bool second_log = false) {
  Draws draws;
  SmallYard yard;
  double lowest = 0.0;
  for (int i = 0; i < 360; ++i) {
    const double turn = i * std::numbers::pi / 180.0;
    lowest = std::max(lowest, -outline(turn) * std::cos(turn));
  }
  const RoundLog log{.radius = lowest, .lowest_seen = -0.85, .bump = [&](double, double turn) {
                       return outline(turn) - lowest;
                     }};
  add_log(yard, draws, 25000, log, 0.12);
  add_ground(yard, draws, 15000);
  add_bunk(yard, draws, 1500, 0.45, 0.12);
  add_bunk(yard, draws, 1500, 1.95, 0.12);
  if (second_log)
    add(yard, 12000, [&] {
      return (log_point(draws, {.length = 2.2, .radius = 0.13, .lowest_seen = -0.8}) +
              Eigen::Vector3d(0.1, 0.27, 0.12))
          .eval();
    });
  return yard;
}

Found found_of(const SmallYard& yard) {
  const Scan scan = to_scan(yard);
  const Scan log = find_log(scan, {});
  std::set<std::array<float, 3>> wood;
  for (std::size_t i = 0; i < yard.wood; ++i)
    wood.insert({scan.points[i].x(), scan.points[i].y(), scan.points[i].z()});
  const auto own = std::count_if(log.points.begin(), log.points.end(), [&](const auto& p) {
    return wood.contains({p.x(), p.y(), p.z()});
  });
  return {static_cast<double>(own) / static_cast<double>(yard.wood),
          1.0 - static_cast<double>(own) / static_cast<double>(log.points.size())};
}

TEST(FindOval, FindsWholeWhatIsMuchWiderThanHigh) {
  for (const double ratio : {1.4, 1.6, 2.0, 2.4, 1 / 1.6, 1 / 2.0}) {
    const Found found = found_of(yard_with(ellipse(ratio)));
    EXPECT_GT(found.kept, 0.985) << ratio;
    EXPECT_LT(found.strange, 0.02) << ratio;
  }
}

TEST(FindOval, FindsBothRoundsOfATwoHeartedLog) {
  for (const double apart : {0.8, 1.2, 1.4}) {
    const Found found = found_of(yard_with(two_hearts(apart)));
    EXPECT_GT(found.kept, 0.97) << apart;
    EXPECT_LT(found.strange, 0.03) << apart;
  }
}

TEST(FindOval, FindsHalfALogWhoseFlatSideIsUp) {
  const Found found = found_of(yard_with(half_log(true)));
  EXPECT_GT(found.kept, 0.98);
  EXPECT_LT(found.strange, 0.03);
}

TEST(FindOval, RefusesHalfALogOnItsFlatSide) {
  const UserError error = error_of([] { find_log(to_scan(yard_with(half_log(false))), {}); });
  EXPECT_EQ(error.fault(), Fault::no_log);
  EXPECT_NE(std::string(error.what()).find("lies on its flat side"), std::string::npos)
      << error.what();
}

TEST(FindOval, LeavesTwoLogsThatTouchTwo) {
  const Found found = found_of(yard_with([](double) { return 0.13; }, true));
  EXPECT_GT(found.kept, 0.97);
  EXPECT_LT(found.strange, 0.04);
}

TEST(FindOval, TakesNoBeamForALog) {
  for (const double width : {0.18, 0.27, 0.36, 0.54}) {
    Draws draws;
    SmallYard yard;
    add(yard, 20000, [&, width] {
      constexpr double height = 0.18, length = 2.4;
      const double across = draws.uniform(0.0, 2.0 * (width + height));
      const double x = draws.uniform(0.0, length);
      const Eigen::Vector3d p =
          across < 2.0 * width
              ? Eigen::Vector3d(x, std::fmod(across, width), across < width ? 0.0 : height)
              : Eigen::Vector3d(x, across < 2.0 * width + height ? 0.0 : width,
                                draws.uniform(0.0, height));
      return (p + draws.noise(0.003)).eval();
    });
    EXPECT_EQ(error_of([&] { find_log(to_scan(yard), {}); }).fault(), Fault::no_log) << width;
  }
}

}  // namespace
}  // namespace kerfwright
