#include "invented/yard.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "invented/recipes.hpp"

namespace kerfwright {
namespace {

constexpr double kTurn = 2.0 * std::numbers::pi;

Eigen::Isometry3d tilted(double tilt, double height) {
  Eigen::Isometry3d pose = Eigen::Isometry3d::Identity();
  pose.linear() = Eigen::AngleAxisd(-tilt, Eigen::Vector3d::UnitY()).toRotationMatrix();
  pose.translation().z() = height;
  return pose;
}

/// Lowest bark in the yard between two x of the log.
double lowest(const InventedLog& log, const Eigen::Isometry3d& pose, double from, double to) {
  double low = 1e9;
  for (double x = from; x <= to; x += 5.0)
    for (int j = 120; j <= 240; ++j)
      low = std::min(low, (pose * log.surface(x, kTurn * j / 240.0)).z());
  return low;
}

double bunk_top(const InventedLog& log, const PhoneSettings& settings) {
  if (!settings.bunks) return 0;
  const double flat = lowest(log, Eigen::Isometry3d::Identity(), 0, log.length);
  double on_bunks = 1e9;
  for (double at : {settings.bunk_inset, 1.0 - settings.bunk_inset})
    on_bunks = std::min(on_bunks, lowest(log, Eigen::Isometry3d::Identity(),
                                         at * log.length - settings.bunk_size / 2,
                                         at * log.length + settings.bunk_size / 2));
  return std::max(settings.bunk_size, on_bunks - flat + 40.0);  // a burl must not touch the soil
}

void add_bunks(Yard& yard, const PhoneSettings& settings, double top) {
  const YardLog& lying = yard.logs.front();
  for (double at : {settings.bunk_inset, 1.0 - settings.bunk_inset}) {
    const double x = at * lying.log.length, half = settings.bunk_size / 2;
    const double y = lying.log.axis(x).x(), reach = lying.log.butt_radius + 190;
    yard.boxes.push_back({{Eigen::Vector3d(x - half, y - reach, -60),
                           Eigen::Vector3d(x + half, y + reach + 15, top)},
                          Label::bunk});
  }
}

void add_clutter(Yard& yard, const PhoneSettings& settings, double top) {
  const YardLog& lying = yard.logs.front();
  const double x = lying.log.length * settings.bunk_inset;
  const double touch = reach_to(lying, 1, x - 45, x + 45, top, top + 75, 5);
  if (touch > -1e8)
    yard.boxes.push_back(
        {{Eigen::Vector3d(x - 45, touch, top), Eigen::Vector3d(x + 45, touch + 110, top + 75)},
         Label::clutter});
  const Eigen::Vector3d boot(lying.log.length * 0.55, -lying.log.butt_radius - 420, -10);
  yard.boxes.push_back({{boot, boot + Eigen::Vector3d(300, 110, 130)}, Label::clutter});
}

void add_second_log(Yard& yard, const PhoneSettings& settings, double top, Dice& dice) {
  LogRanges ranges;
  const YardLog& first = yard.logs.front();
  const double diameter = first.log.butt_radius + first.log.top_radius;
  ranges.length = {0.55 * first.log.length, 0.8 * first.log.length};
  ranges.diameter = {0.6 * diameter, 0.8 * diameter};
  ranges.sweep = {0, 12};
  ranges.burls = {0, 0};
  YardLog other;
  other.log = random_log(static_cast<std::uint64_t>(dice.below(1 << 30)), ranges);
  other.label = Label::second_log;
  other.to_yard = lay_down(other.log, 0.2, 30, 0);
  const double edge = reach_to(first, 1, 0, first.log.length, -1e9, 1e9, 40);
  YardLog mirrored = other;  // its own reach towards -y, found by turning it half round
  mirrored.to_yard.linear() =
      Eigen::AngleAxisd(std::numbers::pi, Eigen::Vector3d::UnitZ()) * other.to_yard.linear();
  const double own = reach_to(mirrored, 1, 0, other.log.length, -1e9, 1e9, 40);
  other.to_yard.translation().x() = 0.12 * first.log.length;
  other.to_yard.translation().y() = edge + settings.second_log_gap + own;
  if (settings.about.second_log != SecondLogPlace::apart)
    place_second_log(other, first, settings, top, dice);
  yard.logs.push_back(other);
}

Eigen::Isometry3d upright(const Yard& yard, LogPose pose) {
  Eigen::Isometry3d stem = Eigen::Isometry3d::Identity();
  stem.linear() =
      (Eigen::AngleAxisd(0.03, Eigen::Vector3d::UnitX()) *  // nothing stands quite upright
       Eigen::AngleAxisd(-std::numbers::pi / 2, Eigen::Vector3d::UnitY()))
          .toRotationMatrix();
  stem.translation().z() = pose == LogPose::hanging ? 450.0 : ground_height(yard, 0, 0);
  return stem;
}

bool box_hides(const Eigen::AlignedBox3d& box, const Eigen::Vector3d& from,
               const Eigen::Vector3d& ray) {
  double enter = 8.0 / ray.norm(), leave = 1.0;
  for (int k = 0; k < 3; ++k) {
    const double inverse = 1.0 / (ray[k] == 0 ? 1e-12 : ray[k]);
    double a = (box.min()[k] - from[k]) * inverse, b = (box.max()[k] - from[k]) * inverse;
    if (a > b) std::swap(a, b);
    enter = std::max(enter, a);
    leave = std::min(leave, b);
  }
  return enter < leave;
}

/// Steps along the ray through the log's plain body (burls and stubs hide nothing).
bool log_hides(const YardLog& lying, const Eigen::Vector3d& from, const Eigen::Vector3d& to) {
  const Eigen::Isometry3d to_log = lying.to_yard.inverse();
  const Eigen::Vector3d start = to_log * from, ray = to_log * to - start;
  const double step = 25.0 / ray.norm();
  const InventedLog& log = lying.log;
  for (double t = step; t < 1.0 && t < 120 * step; t += step) {
    const Eigen::Vector3d p = start + t * ray;
    if (p.x() < 0 || p.x() > log.length) continue;
    const double r = log.butt_radius + (log.top_radius - log.butt_radius) * p.x() / log.length;
    if ((p.tail<2>() - log.axis(p.x())).squaredNorm() < 0.95 * r * r) return true;
  }
  return false;
}

}  // namespace

Eigen::Isometry3d lay_down(const InventedLog& log, double inset, double half, double top) {
  const double first = log.length * inset, second = log.length * (1.0 - inset);
  double tilt = 0;
  for (int i = 0; i < 8; ++i) {
    const Eigen::Isometry3d pose = tilted(tilt, 0);
    tilt -= std::atan2(lowest(log, pose, second - half, second + half) -
                           lowest(log, pose, first - half, first + half),
                       second - first);
  }
  const Eigen::Isometry3d pose = tilted(tilt, 0);
  const double height = top - lowest(log, pose, first - half, first + half);
  const double sunk =
      lowest(log, pose, 0, log.length) + height;  // a log without supports may bow down
  return tilted(tilt, height + std::max(0.0, -sunk));
}

double reach_to(const YardLog& lying, int side, double from, double to, double low, double high,
                double step) {
  double most = -1e9;
  for (double x = from; x <= to; x += step) {
    for (int j = 0; j < 720; ++j) {
      const Eigen::Vector3d p = lying.to_yard * lying.log.surface(x, kTurn * j / 720.0);
      if (p.z() >= low && p.z() <= high) most = std::max(most, side * p.y());
    }
  }
  return most;
}

Yard make_yard(const InventedLog& log, const PhoneSettings& settings, Dice& dice) {
  Yard yard;
  for (double& phase : yard.ground_phase) phase = dice.uniform(0, kTurn);
  yard.relief = settings.about.relief;
  if (settings.about.pose != LogPose::lying) {
    yard.logs.push_back({log, upright(yard, settings.about.pose), Label::bark});
    add_surroundings(yard, settings, 0, dice);
    return yard;
  }
  const double top = bunk_top(log, settings);
  yard.logs.push_back(
      {log, lay_down(log, settings.bunk_inset, settings.bunk_size / 2, top), Label::bark});
  if (settings.bunks) add_bunks(yard, settings, top);
  if (settings.clutter) add_clutter(yard, settings, top);
  if (settings.second_log) add_second_log(yard, settings, top, dice);
  add_surroundings(yard, settings, top, dice);
  return yard;
}

double ground_height(const Yard& yard, double x, double y) {
  const auto& phase = yard.ground_phase;
  const double land = 14.0 * std::sin(x / 410.0 + phase[0]) * std::cos(y / 530.0 + phase[1]) +
                      6.0 * std::sin(x / 150.0 + y / 210.0 + phase[2]) + 0.012 * (x * 0.6 + y) +
                      3.0 * std::cos(y / 90.0 + phase[3]) - 20.0;
  // A land of more relief lies lower, so that it does not bury the log.
  return yard.relief == 1.0 ? land : yard.relief * (land - 15.0) + 15.0;
}

bool is_hidden(const Yard& yard, const Eigen::Vector3d& from, const Eigen::Vector3d& to,
               int own_log, int own_box) {
  const Eigen::Vector3d ray = to - from;
  for (int i = 0; i < static_cast<int>(yard.boxes.size()); ++i)
    if (i != own_box && box_hides(yard.boxes[static_cast<std::size_t>(i)].box, from, ray))
      return true;
  for (int i = 0; i < static_cast<int>(yard.logs.size()); ++i)
    if (i != own_log && log_hides(yard.logs[static_cast<std::size_t>(i)], from, to)) return true;
  return false;
}

}  // namespace kerfwright
