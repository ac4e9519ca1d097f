#include "part_log.hpp"

#include <algorithm>
#include <array>
#include <cmath>

namespace kerfwright {
namespace {

/// Points that stand before an end face within half a radius, per point of the faces: next to none
/// for a log, many for a ball, whose caps are taken for faces.
double bulge(const Unwrapped& near, const std::vector<Part>& parts, const LogFrame& frame,
             const LogEnds& ends) {
  std::size_t before = 0, on = 0;
  for (std::size_t i = 0; i < parts.size(); ++i) {
    if (near.out[i] > 0.8f) continue;
    const double r = near.out[i] * frame.radius(near.along[i]);
    const Eigen::Vector2d side(r * std::cos(near.angle[i]), r * std::sin(near.angle[i]));
    const LogEnd& end = near.along[i] < 0.5 * frame.length() ? ends.first : ends.last;
    const double beyond = end.beyond(near.along[i], side);
    if (parts[i] == Part::face) ++on;
    if (parts[i] == Part::foreign && beyond > 0.0 && beyond < 0.5 * frame.radius(near.along[i]))
      ++before;
  }
  return on > 0 ? static_cast<double>(before) / static_cast<double>(on) : 0.0;
}

std::vector<unsigned char> all_but_bark(const std::vector<Part>& parts) {
  std::vector<unsigned char> left_out(parts.size());
  for (std::size_t i = 0; i < parts.size(); ++i) left_out[i] = parts[i] != Part::bark;
  return left_out;
}

/// Another log in line goes on where this one ends, and is no part of what is near.
Unwrapped without_others(Unwrapped near, const Known& known) {
  if (known.empty()) return near;
  std::size_t kept = 0;
  for (std::size_t i = 0; i < near.index.size(); ++i) {
    if (known[near.index[i]] == PointLabel::other_log) continue;
    near.index[kept] = near.index[i];
    near.along[kept] = near.along[i];
    near.angle[kept] = near.angle[i];
    near.out[kept++] = near.out[i];
  }
  near.index.resize(kept);
  near.along.resize(kept);
  near.angle.resize(kept);
  near.out.resize(kept);
  return near;
}

std::vector<unsigned char> fork_points(const Unwrapped& near, const Known& known) {
  if (known.empty()) return {};
  std::vector<unsigned char> fork(near.index.size());
  for (std::size_t i = 0; i < fork.size(); ++i)
    fork[i] = known[near.index[i]] == PointLabel::fork ? 1 : 0;
  return fork;
}

/// Whether soil is seen inside along most of the log; under wood nobody sees any.
bool holds_soil(const PartedLog& log) {
  constexpr int stretches = 20, enough = 3;
  constexpr double deep = 0.75;  // radii
  std::array<int, stretches> soil{};
  const double from = log.ends.first.along, to = log.ends.last.along;
  for (std::size_t i = 0; i < log.parts.size(); ++i) {
    const double place = (log.near.along[i] - from) / (to - from);
    if (log.parts[i] == Part::ground && log.near.out[i] < deep && place >= 0.0 && place < 1.0)
      ++soil[static_cast<std::size_t>(place * stretches)];
  }
  return 5 * std::count_if(soil.begin(), soil.end(), [](int n) { return n >= enough; }) >
         3 * stretches;
}

/// Whether the lowest two fifths of the radius, and more, lie under the soil along most of the log.
bool reaches_into(const Ground& ground, const PartedLog& log, const LogFrame& frame) {
  constexpr int places = 20;
  constexpr double deep = 0.4;
  int sunk = 0;
  for (int i = 0; i < places; ++i) {
    const double share = (i + 0.5) / places;
    const double along = (1.0 - share) * log.ends.first.along + share * log.ends.last.along;
    const Eigen::Vector3d middle = frame.centre(along);
    const double low = ground.height(middle - frame.radius(along) * ground.up());
    sunk += low < -deep * (ground.height(middle) - low) ? 1 : 0;
  }
  return 5 * sunk > 3 * places;
}

bool is_ball(const PartedLog& log) { return log.length < 1.5 * log.diameter && log.bulge > 0.1; }

}  // namespace

PartedLog part_log(const Points& points, const Yard& yard, const RoughAxis& axis,
                   const LogFrame& frame, const Known& known) {
  PartedLog log;
  log.near = without_others(frame.unwrap(points, 2.3), known);
  const std::vector<unsigned char> fork = fork_points(log.near, known);
  log.ends = find_ends(log.near, frame);
  const double length = log.ends.last.along - log.ends.first.along;
  RoughSurface surface(log.ends.first.along, log.ends.last.along,
                       std::max(0.25 * axis.mean_radius(), length / 200.0));
  const WoodInput input{points, log.near, frame, log.ends, surface, yard.ground, fork};
  surface.fit(log.near, fork, 50.0);
  surface.fit(log.near, all_but_bark(part_points(input)), 0.5);
  log.parts = part_points(input);
  log.length = (frame.centre(log.ends.last.along) - frame.centre(log.ends.first.along)).norm();
  log.diameter = 2.0 * axis.mean_radius();
  log.girth = surface.girth();
  log.bulge = bulge(log.near, log.parts, frame, log.ends);
  surface.fit(log.near, all_but_bark(log.parts), 20.0, 0.4);  // follows corners as well
  log.roundness = surface.roundness();
  return log;
}

bool looks_like_a_log(const RoughAxis& axis, const PartedLog& log, double least_roundness) {
  return log.length > 0.75 * log.diameter && log.girth > 0.2 && axis.share > 0.5 &&
         (log.girth > 0.35 || axis.share > 0.85) && log.roundness > least_roundness &&
         !is_ball(log);
}

bool is_sunk_in_soil(const PartedLog& log, const LogFrame& frame,
                     const std::optional<Ground>& ground) {
  return holds_soil(log) || (ground && frame.knows_up() && reaches_into(*ground, log, frame));
}

}  // namespace kerfwright
