#include "part.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "kerfwright/shape/mark_geometry.hpp"
#include "kerfwright/shape/section.hpp"

namespace kerfwright::saw {
namespace {

using Eigen::Vector2d;
using Eigen::Vector3d;

constexpr double tangent_reach = 300;  // mm on either side
constexpr double off_the_face = 0.2;   // mm between the end and the first place a board may start

Vector3d axis_point(const LogShape& log, double x) {
  const double inside = std::clamp(x, 0.0, log.length());
  const Vector2d yz = axis_at(log, inside);
  return {inside, yz.x(), yz.y()};
}

double bark_between(const LogShape& log, double x) {
  const auto [i, share] = locate(log, x);
  return (1.0 - share) * bark_at(log, i) + share * bark_at(log, i + 1);
}

/// Least and greatest distance along `chord` from `origin` at which the wood meets an end.
std::pair<double, double> reach_of_face(const LogShape& log, const PartEnd& end,
                                        const Vector3d& origin, const Vector3d& chord) {
  double least = 1e9;
  double most = -1e9;
  for (const Vector2d& yz : section_outline_at(log, end.point.x(), Bark::on)) {
    const Vector3d arm(0.0, yz.x() - end.point.y(), yz.y() - end.point.z());
    const double forward = -end.normal.dot(arm) / end.normal.x();
    const double at = (end.point + arm + forward * Vector3d::UnitX() - origin).dot(chord);
    least = std::min(least, at);
    most = std::max(most, at);
  }
  return {least, most};
}

/// Where the axis of the log meets the plane at `distance` along the chord.
Vector3d axis_in_plane(const LogShape& log, const Vector3d& origin, const Vector3d& chord,
                       double distance) {
  double x = origin.x() + distance * chord.x();
  for (int round = 0; round < 20; ++round) {
    const double off = distance - (axis_point(log, x) - origin).dot(chord);
    if (std::abs(off) < 1e-6) break;
    x += off;
  }
  return axis_point(log, x);
}

struct Ray {
  double radius = 0;  ///< mm, of the wood under bark
  Vector3d surface;   ///< where it leaves that
};

/// Where a ray from the axis leaves the wood under bark.
Ray leave(const LogShape& log, const Vector3d& from, const Vector3d& direction, double guess) {
  double inside = 0.0;
  double radius = guess;
  for (int round = 0; round < 12; ++round) {
    const double depth = depth_inside(log, from + radius * direction, Bark::off);
    if (depth >= 0.0) inside = std::max(inside, radius);
    if (std::abs(depth) < 0.005) break;
    radius = std::max(0.0, radius + depth);
  }
  if (depth_inside(log, from + radius * direction, Bark::off) < -0.02) radius = inside;
  return {radius, from + radius * direction};
}

struct Seen {
  float sigma = 0;
  unsigned char seen = 0;
};

/// What the log says of the surface at the nearest sample.
Seen nearest_sample(const LogShape& log, const Vector3d& point) {
  const auto [i, share] = locate(log, point.x());
  const Vector3d centre = axis_point(log, point.x());
  const double turns =
      std::atan2(point.z() - centre.z(), point.y() - centre.y()) / (2.0 * std::numbers::pi);
  const auto j =
      static_cast<std::size_t>(std::lround((turns - std::floor(turns)) * log.angles) % log.angles);
  const std::size_t station = share < 0.5 ? i : i + 1;
  return {std::max(log.sigma[i][j], log.sigma[i + 1][j]), log.seen[station][j]};
}

void add_station(const LogShape& log, const Eigen::Isometry3d& to_log, double x, LogShape& part) {
  const Vector3d chord = to_log.linear().col(0);
  const Vector3d centre = axis_in_plane(log, to_log.translation(), chord, x);
  const Vector3d here = to_log.inverse() * centre;
  part.stations.push_back(x);
  part.axis.emplace_back(here.y(), here.z());
  std::vector<float> radius, sigma;
  std::vector<unsigned char> seen;
  const auto near = locate(log, centre.x()).first;
  const double bark = bark_between(log, centre.x());
  part.bark_at_station.push_back(bark);
  double guess = static_cast<double>(log.radius[near].front()) - bark;
  for (int j = 0; j < part.angles; ++j) {
    const double angle = 2.0 * std::numbers::pi * j / part.angles;
    const Vector3d direction = to_log.linear() * Vector3d(0.0, std::cos(angle), std::sin(angle));
    const Ray ray = leave(log, centre, direction, guess);
    const Seen sample = nearest_sample(log, ray.surface);
    radius.push_back(static_cast<float>(ray.radius + bark));
    sigma.push_back(sample.sigma);
    seen.push_back(sample.seen);
    guess = ray.radius;
  }
  part.radius.push_back(std::move(radius));
  part.sigma.push_back(std::move(sigma));
  part.seen.push_back(std::move(seen));
}

/// The marks of the log as the part has them.
Marks marks_of(const LogShape& log, const Eigen::Isometry3d& to_log, double length) {
  const Eigen::Isometry3d to_part = to_log.inverse();
  Marks marks = log.marks;
  const double from = (to_log * Vector3d(0.0, 0.0, 0.0)).x();
  const double to = (to_log * Vector3d(length, 0.0, 0.0)).x();
  if (marks.pith) {
    const PithLine line(log);
    const auto moved = [&](double x) -> Vector2d { return (to_part * line.point(x)).tail<2>(); };
    marks.pith = Pith{moved(from), moved(to)};
  }
  for (auto* cores : {&marks.rot, &marks.hollow}) {
    for (Core& core : *cores) {
      core = {core_radius(core, log.length(), from), core_radius(core, log.length(), to)};
    }
  }
  for (Metal& metal : marks.metal) metal.place = to_part * metal.place;
  for (Knot& knot : marks.knots) {
    knot.at_bark = to_part * knot.at_bark;
    knot.at_pith = to_part * knot.at_pith;
  }
  for (Split& split : marks.splits) split.depth -= split.from_butt ? from : log.length() - to;
  std::erase_if(marks.splits, [](const Split& split) { return split.depth <= 0.0; });
  for (FigureZone& zone : marks.figure) {
    zone.from = std::clamp(zone.from - from, 0.0, length);
    zone.to = std::clamp(zone.to - from, 0.0, length);
  }
  std::erase_if(marks.figure, [](const FigureZone& zone) { return zone.to <= zone.from; });
  return marks;
}

/// x along the chord, z as near to the log's as may be.
Eigen::Matrix3d frame_along(const Vector3d& chord) {
  Eigen::Matrix3d frame;
  const Vector3d up = (Vector3d::UnitZ() - chord.z() * chord).normalized();
  frame.col(0) = chord;
  frame.col(1) = up.cross(chord);
  frame.col(2) = up;
  return frame;
}

}  // namespace

PartEnd part_end(const LogShape& log, double x, double kerf) {
  if (x <= 0.0 || x >= log.length()) return {axis_point(log, x), Vector3d::UnitX(), 0.0};
  const Vector3d along = axis_point(log, x + tangent_reach) - axis_point(log, x - tangent_reach);
  return {axis_point(log, x), along.normalized(), 0.5 * kerf};
}

Part part_of(const LogShape& log, const PartEnd& low, const PartEnd& high, double station_step,
             int angles) {
  Part part;
  const Vector3d chord = (high.point - low.point).normalized();
  const auto gap = [&](const PartEnd& end) {
    return end.half_kerf / end.normal.dot(chord) + off_the_face;
  };
  const double from = reach_of_face(log, low, low.point, chord).second + gap(low);
  const double to = reach_of_face(log, high, low.point, chord).first - gap(high);
  part.butt = low.point;
  part.top = high.point;
  part.to_log.linear() = frame_along(chord);
  part.to_log.translation() = low.point + from * chord;
  part.to_log.makeAffine();
  LogShape& shape = part.shape;
  shape.source = log.source;
  shape.angles = angles;
  shape.bark = log.bark;
  const double length = to - from;
  if (length < station_step) return part;
  const int gaps = static_cast<int>(std::ceil(length / station_step));
  for (int i = 0; i <= gaps; ++i) add_station(log, part.to_log, length * i / gaps, shape);
  // The origin lies at the centre of the butt end and x runs to that of the top: but for the little
  // that the axis bends between a part's own end and where it is whole, which changes nothing.
  shape.marks = marks_of(log, part.to_log, length);
  return part;
}

SawPlan in_log_frame(SawPlan plan, const Part& part, const std::string& name, double log_length) {
  const Eigen::Matrix3d turn = part.to_log.linear();
  const auto renamed = [&](std::string& piece) {
    piece = piece == "log" ? name : name + "-" + piece;
  };
  for (Board& board : plan.boards) {
    board.corner = part.to_log * board.corner;
    board.along = turn * board.along;
    board.across = turn * board.across;
    board.up = turn * board.up;
    renamed(board.piece);
  }
  for (Cut& cut : plan.cuts) {
    cut.point = part.to_log * cut.point;
    cut.normal = turn * cut.normal;
    renamed(cut.piece);
    renamed(cut.above);
    renamed(cut.below);
  }
  for (Setup& setup : plan.setups) {
    const Vector3d up = turn * setup_up(setup, part.shape.length());
    const Setup moved = setup_with_up(up, log_length);
    setup.roll = moved.roll;
    setup.lift_butt = moved.lift_butt;
    setup.lift_top = moved.lift_top;
    if (on_mill(setup.kind)) setup.part = LogPart{name, part.butt, part.top};
  }
  return plan;
}

}  // namespace kerfwright::saw
