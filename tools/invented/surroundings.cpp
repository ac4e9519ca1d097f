#include <algorithm>
#include <cmath>
#include <numbers>

#include "invented/recipes.hpp"
#include "invented/yard.hpp"

namespace kerfwright {
namespace {

constexpr double kTurn = 2.0 * std::numbers::pi;

/// The deepest that any point of one log's bark lies in the other; negative where they are apart.
double overlap(const YardLog& a, const YardLog& b) {
  double deepest = -1e9;
  const Eigen::Isometry3d to_b = b.to_yard.inverse() * a.to_yard;
  for (int i = 0; i <= 120; ++i)
    for (int j = 0; j < 120; ++j) {
      const Eigen::Vector3d p = to_b * a.log.surface(a.log.length * i / 120.0, kTurn * j / 120.0);
      deepest = std::max(deepest, depth_in(b.log, p, false));
    }
  return deepest;
}

/// Brings a log from where it is clear of the first, against `way`, until they touch.
void push_together(YardLog& other, const YardLog& first, const Eigen::Vector3d& way, double most) {
  const Eigen::Vector3d clear = other.to_yard.translation();
  double low = 0, high = most;
  for (int i = 0; i < 20; ++i) {
    const double middle = 0.5 * (low + high);
    other.to_yard.translation() = clear - middle * way;
    (overlap(other, first) > 0 ? high : low) = middle;
  }
  other.to_yard.translation() = clear - low * way;
}

double underside(const YardLog& lying, double from, double to, double left, double right) {
  double low = 1e9;
  for (double x = from; x <= to; x += 10.0)
    for (int j = 0; j < 240; ++j) {
      const Eigen::Vector3d p = lying.to_yard * lying.log.surface(x, kTurn * j / 240.0);
      if (p.y() >= left && p.y() <= right) low = std::min(low, p.z());
    }
  return low;
}

void add_box(Yard& yard, const Eigen::Vector3d& low, const Eigen::Vector3d& high, Label label) {
  yard.boxes.push_back({{low, high}, label});
}

/// Two rails along, as high as the log lets them, and stakes beside the bunks.
void add_frame(Yard& yard, const PhoneSettings& settings, double top) {
  const YardLog& lying = yard.logs.front();
  const double length = lying.log.length, inset = settings.bunk_inset;
  for (const double side : {-0.42, 0.42}) {
    const double y = side * lying.log.top_radius;
    const double high = underside(lying, -100, length + 100, y - 25, y + 25);
    add_box(yard, {-150, y - 25, high - 60}, {length + 150, y + 25, high}, Label::bunk);
  }
  for (const double at : {inset, 1.0 - inset}) {
    const double x = at * length;
    for (const int side : {-1, 1}) {
      const double y = side * reach_to(lying, side, x - 25, x + 25, -1e9, 1e9, 5);
      const double out = y + side * 50;
      add_box(yard, {x - 25, std::min(y, out), top},
              {x + 25, std::max(y, out), top + 2.6 * lying.log.butt_radius}, Label::bunk);
    }
  }
}

void add_chocks(Yard& yard, double top) {
  const YardLog& lying = yard.logs.front();
  for (const double at : {0.25, 0.75})
    for (const int side : {-1, 1}) {
      const double x = at * lying.log.length, low = std::max(0.0, top - 60);
      const double y = side * reach_to(lying, side, x - 45, x + 45, low, low + 90, 5);
      if (std::abs(y) > 1e8) continue;
      const double out = y + side * 120;
      add_box(yard, {x - 45, std::min(y, out), -40}, {x + 45, std::max(y, out), low + 90},
              Label::clutter);
    }
}

/// A foot that may go under the log, and the leg against it.
void add_boot(Yard& yard, Dice& dice) {
  const YardLog& lying = yard.logs.front();
  const double x = dice.uniform(0.35, 0.7) * lying.log.length;
  const double shin = -reach_to(lying, -1, x - 60, x + 60, 100, 750, 10);
  const double toe = -reach_to(lying, -1, x - 60, x + 60, -50, 100, 10);
  const double front = toe > 1e8 ? shin + 130 : std::max(toe, shin - 60);
  add_box(yard, {x - 52, front - 300, -40}, {x + 52, front, 95}, Label::clutter);
  add_box(yard, {x - 62, shin - 125, 60}, {x + 62, shin, 780}, Label::clutter);
}

void add_posts(Yard& yard, Dice& dice) {
  const YardLog& lying = yard.logs.front();
  const double length = lying.log.length;
  const double x = dice.uniform(0.2, 0.8) * length;
  const double y = -reach_to(lying, -1, x - 60, x + 60, -1e9, 1e9, 10) - 25;
  add_box(yard, {x - 48, y - 96, -60}, {x + 48, y, 1300}, Label::clutter);
  YardLog post;
  post.log.length = 1400;
  post.log.butt_radius = post.log.top_radius = 55;
  post.label = Label::clutter;
  post.to_yard.linear() =
      Eigen::AngleAxisd(-std::numbers::pi / 2, Eigen::Vector3d::UnitY()).toRotationMatrix();
  const double there = (x > 0.5 * length ? 0.2 : 0.8) * length;
  post.to_yard.translation() =
      Eigen::Vector3d(there, reach_to(lying, 1, there - 60, there + 60, -1e9, 1e9, 10) + 75, -80);
  yard.logs.push_back(post);
}

void add_wall(Yard& yard) {
  const YardLog& lying = yard.logs.front();
  const double y = reach_to(lying, 1, 0, lying.log.length, -1e9, 1e9, 40) + 70;
  add_box(yard, {-500, y, -100}, {lying.log.length + 500, y + 120, 900}, Label::clutter);
}

/// A stem that starts on the first log's axis at x and leaves it at an angle towards `theta`.
YardLog joined_stem(const YardLog& first, double x, double angle, double theta, double radius,
                    double length, Label label) {
  YardLog stem;
  stem.log.length = length;
  stem.log.butt_radius = radius;
  stem.log.top_radius = 0.88 * radius;
  stem.log.waves = {{1.0, 2.0, 2, theta}, {1.0, 1.3, 3, 2.0 * theta}};
  stem.label = label;
  stem.joined = true;
  const Eigen::Vector3d out(0, std::cos(theta), std::sin(theta));
  const Eigen::Vector3d along = std::cos(angle) * Eigen::Vector3d::UnitX() + std::sin(angle) * out;
  const Eigen::Vector3d across = Eigen::Vector3d::UnitX().cross(out);
  Eigen::Isometry3d pose = Eigen::Isometry3d::Identity();
  pose.linear() << along, across, along.cross(across);
  const Eigen::Vector2d centre = first.log.axis(x);
  pose.translation() = Eigen::Vector3d(x, centre.x(), centre.y());
  stem.to_yard = first.to_yard * pose;
  return stem;
}

void add_fork(Yard& yard, const Surroundings& about, Dice& dice) {
  const YardLog first = yard.logs.front();
  const double x = about.fork_at * first.log.length;
  const double theta = dice.uniform(0.1, 0.9) * std::numbers::pi;  // not into the ground
  const double radius =
      about.fork_size *
      (first.log.butt_radius + (first.log.top_radius - first.log.butt_radius) * about.fork_at);
  YardLog stem = joined_stem(first, x, about.fork_angle * kTurn / 360.0, theta, radius,
                             about.fork_length, Label::fork);
  stem.log.ovality = 0.05;
  stem.log.sweep = 0.01 * about.fork_length;
  yard.logs.push_back(stem);
}

void add_branches(Yard& yard, const Surroundings& about, Dice& dice) {
  const YardLog first = yard.logs.front();
  for (int i = 0; i < about.branches; ++i) {
    const double x = dice.uniform(0.15, 0.85) * first.log.length;
    const double theta = dice.uniform(-0.05, 1.05) * std::numbers::pi;
    const double angle = dice.uniform(0.28, 0.48) * std::numbers::pi;
    const double stump = dice.uniform(150, 400);
    yard.logs.push_back(joined_stem(first, x, angle, theta, dice.uniform(22, 48),
                                    first.log.butt_radius / std::sin(angle) + stump,
                                    Label::branch));
  }
}

}  // namespace

void place_second_log(YardLog& other, const YardLog& first, const PhoneSettings& settings,
                      double top, Dice& dice) {
  Eigen::Isometry3d& pose = other.to_yard;
  const double length = first.log.length,
               room = 3.0 * first.log.butt_radius + other.log.butt_radius;
  if (settings.about.second_log == SecondLogPlace::alongside) {
    pose = lay_down(other.log, 0.2, 30, top);
    pose.translation().x() = dice.uniform(0.0, 0.3) * length;
    pose.translation().y() = 2.0 * room;
    push_together(other, first, Eigen::Vector3d::UnitY(), 2.0 * room);
  } else if (settings.about.second_log == SecondLogPlace::across) {
    const double turn = dice.uniform(0.28, 0.5) * std::numbers::pi;
    const double at = dice.uniform(0.35, 0.65);
    pose.linear() = Eigen::AngleAxisd(turn, Eigen::Vector3d::UnitZ()).toRotationMatrix();
    pose.translation() = Eigen::Vector3d(at * length, 0, 0) -
                         pose.linear() * Eigen::Vector3d(0.45 * other.log.length, 0, 0);
    pose.translation().z() = top + 2.0 * room;
    push_together(other, first, Eigen::Vector3d::UnitZ(), 2.0 * room);
  } else {
    const double own = 0.5 * (other.log.butt_radius + other.log.top_radius);
    const double like = dice.uniform(0.85, 1.1) * first.log.top_radius / own;
    other.log.butt_radius *= like;
    other.log.top_radius *= like;
    other.log.flare = 0;
    pose = lay_down(other.log, 0.2, 30, top);
    pose.prerotate(Eigen::AngleAxisd(dice.uniform(-0.05, 0.05), Eigen::Vector3d::UnitZ()));
    pose.translation().x() = length + settings.about.in_line_gap;
    pose.translation().y() = dice.uniform(-0.15, 0.15) * own;
  }
}

void add_surroundings(Yard& yard, const PhoneSettings& settings, double top, Dice& dice) {
  const Surroundings& about = settings.about;
  if (about.frame) add_frame(yard, settings, top);
  if (about.chocks) add_chocks(yard, top);
  if (about.boot) add_boot(yard, dice);
  if (about.posts) add_posts(yard, dice);
  if (about.wall) add_wall(yard);
  if (about.fork_at > 0) add_fork(yard, about, dice);
  add_branches(yard, about, dice);
}

bool is_inside_joined(const Yard& yard, const Eigen::Vector3d& point, int own_log) {
  const bool own_joined = own_log >= 0 && yard.logs[static_cast<std::size_t>(own_log)].joined;
  for (int i = 0; i < static_cast<int>(yard.logs.size()); ++i) {
    const YardLog& other = yard.logs[static_cast<std::size_t>(i)];
    const bool one_body = i == 0 ? own_joined : other.joined && (own_log == 0 || own_joined);
    if (i == own_log || !one_body) continue;
    const Eigen::Vector3d p = other.to_yard.inverse() * point;
    if (depth_in(other.log, p, false) > 0) return true;
  }
  return false;
}

ScanBorder scan_border(const InventedLog& log, const PhoneSettings& settings) {
  ScanBorder border;
  const Surroundings& about = settings.about;
  if (about.crop_at <= 0) return border;
  Dice dice(settings.seed + 4711);  // its own, so that the scene stays what it is without
  const double turn = dice.uniform(0, kTurn), tilt = about.crop_angle * kTurn / 360.0;
  border.normal = {std::cos(tilt), std::sin(tilt) * std::cos(turn),
                   std::sin(tilt) * std::sin(turn)};
  const double x = about.crop_at * log.length;
  border.distance = border.normal.dot(Eigen::Vector3d(x, log.axis(x).x(), log.axis(x).y()));
  return border;
}

}  // namespace kerfwright
