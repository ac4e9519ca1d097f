#include "label_points.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>
#include <unordered_map>

namespace kerfwright {
namespace {

constexpr auto unknown = static_cast<PointLabel>(255);

void label_near(const PartedLog& log, std::vector<PointLabel>& labels) {
  for (std::size_t i = 0; i < log.parts.size(); ++i) {
    PointLabel& label = labels[log.near.index[i]];
    if (log.parts[i] == Part::bark || log.parts[i] == Part::face) label = PointLabel::log;
    if (log.parts[i] == Part::ground) label = PointLabel::ground;
    if (log.parts[i] == Part::fork) label = PointLabel::fork;
    if (log.parts[i] == Part::stray) label = PointLabel::stray;
  }
}

void label_ground(const Points& points, const std::optional<Ground>& ground,
                  std::vector<PointLabel>& labels) {
  if (!ground) return;
  const auto count = static_cast<std::ptrdiff_t>(points.size());
#pragma omp parallel for schedule(static)
  for (std::ptrdiff_t i = 0; i < count; ++i) {
    const auto at = static_cast<std::size_t>(i);
    if (labels[at] == unknown && ground->height(points[at].cast<double>()) <= ground->reach())
      labels[at] = PointLabel::ground;
  }
}

/// What is still unknown on or in another round thing.
void label_round(const Points& points, const RoughAxis& axis, PointLabel label,
                 std::vector<PointLabel>& labels) {
  const LogFrame frame(axis, std::nullopt);
  const Unwrapped near = frame.unwrap(points, 1.35);
  const double beyond = 0.6 * axis.mean_radius();
  for (std::size_t i = 0; i < near.index.size(); ++i) {
    const double along = near.along[i];
    if (labels[near.index[i]] == unknown && along > -beyond && along < frame.length() + beyond)
      labels[near.index[i]] = label;
  }
}

/// Cubes of space with what is in them.
class Cubes {
 public:
  Cubes(const Eigen::Vector3d& corner, double side) : corner_(corner), side_(side) {}
  void put(const Eigen::Vector3f& point, PointLabel label) {
    cube_.emplace(key(cell(point)), label);
  }
  /// What is in the point's own cube, else in one next to it.
  std::optional<PointLabel> at(const Eigen::Vector3f& point) const {
    const Eigen::Vector3i here = cell(point);
    if (const auto found = cube_.find(key(here)); found != cube_.end()) return found->second;
    for (int x = -1; x <= 1; ++x)
      for (int y = -1; y <= 1; ++y)
        for (int z = -1; z <= 1; ++z)
          if (const auto found = cube_.find(key(here + Eigen::Vector3i(x, y, z)));
              found != cube_.end())
            return found->second;
    return std::nullopt;
  }

 private:
  Eigen::Vector3i cell(const Eigen::Vector3f& point) const {
    // Strays may be anywhere; what is far off the yard falls on its border.
    return ((point.cast<double>() - corner_) / side_)
        .array()
        .floor()
        .max(-1e6)
        .min(1e6)
        .cast<int>();
  }
  static std::uint64_t key(const Eigen::Vector3i& c) {
    const auto part = [](int v) { return static_cast<std::uint64_t>(v + 1048576); };
    return (part(c.x()) << 42) | (part(c.y()) << 21) | part(c.z());
  }

  Eigen::Vector3d corner_;
  double side_;
  std::unordered_map<std::uint64_t, PointLabel> cube_;
};

/// How a connected thing lies to the log.
struct Stance {
  double nearest = 1e300;  ///< radii from the bark's circle
  double lowest = 1e300;   ///< mm over the ground
  bool under = false;      ///< reaches under the log, as far as up is known
};

PointLabel judge(const Stance& stance, const Yard& yard, double radius) {
  if (stance.nearest > 0.45) return PointLabel::clutter;
  if (stance.under) return PointLabel::rest;
  const bool stands = yard.ground && stance.lowest < yard.ground->reach() + 0.15 * radius + 20.0;
  return stands || !yard.ground ? PointLabel::clutter : PointLabel::branch;
}

Stance stance_of(const Points& things, const std::vector<std::uint32_t>& group,
                 const LabelInput& in) {
  Points points;
  for (const std::uint32_t i : group) points.push_back(things[i]);
  Stance stance;
  for (const Eigen::Vector3f& p : points)
    if (in.yard.ground)
      stance.lowest = std::min(stance.lowest, in.yard.ground->height(p.cast<double>()));
  const Unwrapped near = in.frame.unwrap(points, 2.3);
  for (std::size_t i = 0; i < near.index.size(); ++i) {
    const double along = near.along[i];
    if (along < in.log.ends.first.along || along > in.log.ends.last.along) continue;
    const double off = near.out[i] - 1.0;
    stance.nearest = std::min(stance.nearest, off);
    const double from_below = std::abs(static_cast<double>(near.angle[i]) - std::numbers::pi);
    if (in.frame.knows_up() && off < 0.6 && from_below < 0.8) stance.under = true;
  }
  return stance;
}

/// Names what is left by what it hangs together with.
void label_things(const LabelInput& in, std::vector<PointLabel>& labels) {
  Points left;
  for (std::size_t i = 0; i < labels.size(); ++i)
    if (labels[i] == unknown) left.push_back(in.points[i]);
  const CloudExtent box{Eigen::Vector3d::Constant(-1e9), Eigen::Vector3d::Constant(1e9)};
  const Points things = thin_points(left, box, in.yard.leaf);
  const double gap = 3.0 * in.yard.leaf;
  Cubes cubes(robust_extent(in.points).low, gap);
  for (const auto& group : connected_groups(things, gap, 8)) {
    const PointLabel label = judge(stance_of(things, group, in), in.yard, 0.5 * in.log.diameter);
    for (const std::uint32_t i : group) cubes.put(things[i], label);
  }
  const auto count = static_cast<std::ptrdiff_t>(labels.size());
#pragma omp parallel for schedule(static)
  for (std::ptrdiff_t i = 0; i < count; ++i) {
    PointLabel& label = labels[static_cast<std::size_t>(i)];
    if (label == unknown)
      label = cubes.at(in.points[static_cast<std::size_t>(i)]).value_or(PointLabel::stray);
  }
}

}  // namespace

std::vector<PointLabel> label_points(const LabelInput& in) {
  std::vector<PointLabel> labels(in.points.size(), unknown);
  for (std::size_t i = 0; i < in.known.size(); ++i)
    if (in.known[i] != PointLabel::log) labels[i] = in.known[i];
  label_near(in.log, labels);
  label_ground(in.points, in.yard.ground, labels);
  if (in.fork != nullptr) label_round(in.points, *in.fork, PointLabel::fork, labels);
  for (const RoughAxis* other : in.others)
    label_round(in.points, *other, PointLabel::other_log, labels);
  label_things(in, labels);
  return labels;
}

}  // namespace kerfwright
