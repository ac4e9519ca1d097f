#include "saw_steps.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "flitch_parts.hpp"
#include "lengths.hpp"
#include "mill_cuts.hpp"

namespace kerfwright::sheet {
namespace {

using Eigen::Vector3d;

double whole_turn(double degrees) { return degrees - 360.0 * std::floor(degrees / 360.0 + 1e-9); }

/// A direction in a frame as degrees clockwise from up, seen from the butt.
double clock_of(const Frame& frame, const Vector3d& direction) {
  const double degrees = std::atan2(-direction.dot(frame.left), direction.dot(frame.up));
  return whole_turn(degrees * 180.0 / std::numbers::pi);
}

/// The faces that cuts along the log have made, of parallel ones the last.
std::vector<SawnFace> faces_of(const Frame& frame, const std::vector<Side>& ancestry) {
  std::vector<SawnFace> faces;
  std::vector<Vector3d> outwards;
  for (const Side& side : ancestry) {
    const Vector3d outward = side.above ? Vector3d(-side.cut->normal) : side.cut->normal;
    if (std::abs(outward.x()) > 0.7) continue;
    const auto known = std::find_if(outwards.begin(), outwards.end(), [&](const Vector3d& other) {
      return other.dot(outward) > 0.999;
    });
    const SawnFace face{side.cut->n, clock_of(frame, outward)};
    if (known == outwards.end()) {
      outwards.push_back(outward);
      faces.push_back(face);
    } else {
      faces[static_cast<std::size_t>(known - outwards.begin())] = face;
    }
  }
  return faces;
}

/// Cuts that shorten the log: whole steps of the tape from the butt end of the piece.
std::vector<double> told_crosscuts(const LogShape& shape, const Group& group, Told& told) {
  std::vector<double> distances;
  for (const std::size_t i : group.cuts) {
    Cut& cut = told.sawn.cuts[i];
    const Reach reach = reach_of(shape, told.tree.ancestry(group.piece));
    const double x = axis_meets(shape, cut.normal, cut.normal.dot(cut.point));
    distances.push_back(snapped(x - reach.from, told.sawn.mill.tape_step()));
    cut.point.x() += reach.from + distances.back() - x;
  }
  return distances;
}

Stage stage_of(const LogShape& shape, const Group& group, const Told& told) {
  const Vector3d up = told_up(shape, group, told);
  const auto ancestry = told.tree.ancestry(group.piece);
  Stage stage;
  stage.setup = group.setup->n;
  stage.kind = group.setup->kind;
  stage.piece = group.piece;
  stage.roll = whole_turn(group.setup->roll);
  if (group.setup->part) stage.part = group.setup->part->piece;
  if (group.crosswise) return stage;
  const Bed bed = bed_of(shape, told.sawn.mill, up, ancestry);
  stage.on_face = bed.face != nullptr;
  const Mill& mill = told.sawn.mill;
  const double tape = mill.tape_step();
  if (stage.on_face) stage.spacer = group.setup->spacer;
  if (mill.inches) stage.spacer = snapped_up(stage.spacer, mill.height_step);
  stage.supports = bed.supports;
  for (Support& support : stage.supports) support.raise = snapped(support.raise, tape);
  stage.faces = faces_of(frame_of(*group.setup, shape.length()), ancestry);
  const auto& butt = shape.axis.front();
  const auto& top = shape.axis.back();
  const LogPart ends = group.setup->part.value_or(
      LogPart{"log", {0.0, butt.x(), butt.y()}, {shape.length(), top.x(), top.y()}});
  stage.centre_butt = snapped(up.dot(ends.butt) - bed.height, tape);
  stage.centre_top = snapped(up.dot(ends.top) - bed.height, tape);
  for (const double x : shape.stations) {
    if (x < bed.reach.from || x > bed.reach.to) continue;
    for (const auto& p : piece_section(shape, x, Bark::on, lengthwise(ancestry))) {
      const double below = bed.height - up.dot(Vector3d(x, p.x(), p.y()));
      if (below <= stage.hang) continue;
      stage.hang = below;
      stage.hang_at = x - bed.reach.from;
    }
  }
  return stage;
}

/// Which cut left what lies on the mill in each stage.
void say_where_from(std::vector<Stage>& stages) {
  for (Stage& stage : stages) {
    for (const Stage& before : stages) {
      for (const MillCut& cut : before.cuts) {
        if (stage.piece != cut.off.piece && stage.piece != cut.below.piece) continue;
        stage.made_by = cut.n;
        stage.came_off = stage.piece == cut.off.piece;
      }
    }
  }
}

}  // namespace

Steps told_stages(const SawPlan& plan, const LogShape& shape) {
  Steps result;
  result.told = std::make_unique<Told>(plan);
  Told& told = *result.told;
  result.groups = groups_of(told.sawn, told.tree);
  SawSteps& steps = result.steps;
  steps.height_step = plan.mill.height_step;
  std::vector<std::vector<double>> heights;
  const Group* before = nullptr;
  for (const Group& group : result.groups) {
    heights.push_back(group.crosswise ? told_crosscuts(shape, group, told)
                                      : told_heights(plan, shape, group, told));
    steps.stages.push_back(stage_of(shape, group, told));
    if (group.crosswise) continue;
    // What lay on the mill before must have been the same piece, or what this one came of.
    if (before != nullptr && told.tree.comes_of(group.piece, before->piece))
      steps.stages.back().turn_on = whole_turn(group.setup->roll - before->setup->roll);
    before = &group;
  }
  result.across = round_across(shape, told);
  result.flitches = find_flitches(told.sawn, shape);
  for (std::size_t i = 0; i < result.groups.size(); ++i) {
    for (double& height : heights[i]) height += steps.stages[i].spacer;
    steps.stages[i].cuts = mill_cuts(told, shape, result.groups, i, result.flitches, heights[i]);
  }
  say_where_from(steps.stages);
  return result;
}

Steps told_steps(const SawPlan& plan, const LogShape& shape) {
  Steps result = told_stages(plan, shape);
  SawSteps& steps = result.steps;
  const SawPlan& sawn = result.told->sawn;
  const Subject subject{sawn, shape, result.flitches, frame_of(main_setup(sawn), shape.length())};
  for (const Flitch& flitch : result.flitches) {
    FlitchTold flitch_told = flitch_steps(subject, flitch);
    steps.value += flitch_told.value;
    const bool first = steps.flitches.empty() || steps.flitches.back().whole != flitch.whole;
    steps.flitches.push_back(std::move(flitch_told.steps));
    if (first && flitch.is_part())
      steps.flitches.back().across = result.across.at(flitch.off_the_mill());
  }
  return result;
}

}  // namespace kerfwright::sheet

namespace kerfwright {

SawSteps saw_steps(const SawPlan& plan, const LogShape& shape) {
  return sheet::told_steps(plan, shape).steps;
}

std::vector<Stage> saw_stages(const SawPlan& plan, const LogShape& shape) {
  return sheet::told_stages(plan, shape).steps.stages;
}

}  // namespace kerfwright
