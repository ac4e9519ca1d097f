#include "replan_piece.hpp"

#include <algorithm>
#include <cmath>

#include "frame.hpp"
#include "mill_limits.hpp"
#include "part.hpp"

namespace kerfwright::saw {
namespace {

constexpr double full_stations = 12.5;  // mm between stations of a part
constexpr double same = 0.05;           // mm between a level and a face that is one
constexpr double fills = 0.11;          // mm that a flitch may be thicker than what it is for

/// A way to lay the piece, and the grid of heights for it.
struct Try {
  Pose pose;
  Lying lying;
  HeightGrid grid;
};

/// The grid with a level at a height.
HeightGrid with_level_at(HeightGrid grid, double height) {
  const double strips = std::ceil((height - grid.origin) / grid.step);
  grid.origin = height - grid.step * strips;
  grid.levels += 1;
  return grid;
}

/// Directions that may be up: as it lies, or on one of its faces, and a quarter turn from there.
std::vector<Pose> poses_of(const PieceTask& task, const std::vector<double>& slopes) {
  const auto square = [](const Eigen::Vector3d& a, const Eigen::Vector3d& b) {
    return std::abs(a.dot(b)) < 1e-4;
  };
  std::vector<Eigen::Vector3d> ups;
  if (task.up) ups.push_back(*task.up);
  for (const SawnSide& side : task.piece.sides) {
    if (side.across()) continue;
    const Eigen::Vector3d up = -side.outward;  // lying on that face
    const bool fresh = std::all_of(ups.begin(), ups.end(),
                                   [&](const Eigen::Vector3d& other) { return square(up, other); });
    if (fresh) ups.push_back(up);
  }
  std::vector<Pose> poses;
  for (const Eigen::Vector3d& up : ups) poses.push_back(pose_with_up(up));
  if (poses.size() == 1) {
    for (const double slope : slopes) poses.push_back(quarter_turn(poses[0], slope));
  }
  return poses;
}

std::vector<Try> tries_of(const PieceTask& task, const Wood& wood, const SearchSpace& space) {
  std::vector<Pose> poses;
  if (task.flitch_up) {
    poses = {pose_with_up(*task.flitch_up)};
  } else {
    poses = poses_of(task, space.slopes);
  }
  std::vector<Try> tries;
  for (const Pose& pose : poses) {
    const auto lying = lying_in(task.piece.sides, pose);
    if (!lying) continue;
    const double steepest = std::max(std::abs(pose.slope), space.slopes.back());
    const HeightGrid grid = grid_of(wood, task.order, task.mill, steepest);
    std::vector<double> faces;
    if (lying->ceiling) faces.push_back(*lying->ceiling);
    if (lying->floor) faces.push_back(*lying->floor);
    if (faces.size() == 2) {
      const double strips = (faces[0] - faces[1]) / grid.step;
      if (std::abs(strips - std::round(strips)) * grid.step < same) faces.pop_back();
    }
    if (faces.empty()) tries.push_back({pose, *lying, grid});
    for (const double face : faces) {
      tries.push_back({pose, *lying, with_level_at(grid, face)});
    }
  }
  return tries;
}

/// The best stack between faces, some of them at the sides.
LogPlan saw_between(const Wood& wood, const Catalogue& catalogue, const Try& lies) {
  LogPlan plan;
  plan.pose = lies.pose;
  const Profile profile(wood, lies.pose, catalogue.grid);
  const auto clip = clip_of(lies.lying, catalogue.kerf);
  FlitchWorths flitches(wood, catalogue, profile, lies.pose.slope, clip);
  Edger edger(catalogue, wood.border);
  StackTable table;
  table.cut_cost = cut_costs(wood, catalogue, profile);
  const bool narrow = clip && clip->size > 0.0 && clip->size <= catalogue.max_cut_width;
  if (!narrow) forbid_wide_cuts(wood, catalogue, lies.pose, table.cut_cost);
  forbid_cuts_at_metal(wood, catalogue, lies.pose, clip, table.cut_cost);
  flitches.fill(table);
  const auto thickness = [&](std::size_t k) { return catalogue.classes[k].thickness; };
  keep_between(lies.lying, catalogue.grid, catalogue.kerf, thickness, table);
  plan.stack = best_stack_lazily(
      table, catalogue.kerf_strips, 0.0, Known::exact,
      [&](int item, int bottom, double) { return flitches.refine(table, edger, item, bottom); });
  plan.worth = plan.stack.worth;
  return plan;
}

/// The flitch as it is, as a stack of one; of each kind of product that is so thick.
std::vector<LogPlan> whole_flitches(const Wood& wood, const Catalogue& catalogue, const Try& lies) {
  std::vector<LogPlan> plans;
  if (!lies.lying.floor || !lies.lying.ceiling) return plans;
  const auto clip = clip_of(lies.lying, catalogue.kerf);
  const Profile profile(wood, lies.pose, catalogue.grid);
  const FlitchWorths flitches(wood, catalogue, profile, lies.pose.slope, clip);
  Edger edger(catalogue, wood.border);
  const double thick = *lies.lying.ceiling - *lies.lying.floor;
  const int bottom = static_cast<int>(
      std::lround((*lies.lying.floor - catalogue.grid.origin) / catalogue.grid.step));
  for (std::size_t k = 0; k < catalogue.classes.size(); ++k) {
    const FlitchClass& flitch = catalogue.classes[k];
    if (std::abs(flitch.thickness - thick) > fills || (clip && !flitch.slabs.empty())) continue;
    if (bottom < profile.first_strip() || bottom + flitch.strips - 1 > profile.last_strip()) {
      continue;
    }
    LogPlan plan;
    plan.pose = lies.pose;
    plan.worth = edger.best(flitch, flitches.wood_at(flitch, bottom));
    plan.stack.items = {{static_cast<int>(k), bottom}};
    plans.push_back(plan);
  }
  return plans;
}

std::vector<LogPlan> plans_of(const PieceTask& task, const Wood& wood, const Catalogue& catalogue,
                              const Try& lies, const SearchSpace& space) {
  if (catalogue.classes.empty()) return {};
  if (task.flitch_up) return whole_flitches(wood, catalogue, lies);
  LogPlan plan;
  if (lies.lying.has_sides()) {
    plan = saw_between(wood, catalogue, lies);
  } else {
    PoseSearch search(wood, catalogue, lies.pose, lies.lying);
    plan = catalogue.cant_sizes.empty()
               ? search.best_live(0.0)
               : search.best_with_cants({1, space.slopes, space.turn_cost, false}, 0.0);
  }
  const bool as_it_lies = task.up && Frame(lies.pose).up.dot(*task.up) > 1.0 - 1e-9;
  if (!as_it_lies) plan.worth -= space.turn_cost;
  return {plan};
}

/// Names after the piece, and which part of the log it is.
void name_after(SawPlan& plan, const PieceTask& task) {
  const auto renamed = [&](std::string& name) {
    const bool log = name.starts_with("log");  // the piece itself, or a lane of it
    name = task.piece.name + (log ? name.substr(3) : "-" + name);
  };
  for (Board& board : plan.boards) renamed(board.piece);
  for (Cut& cut : plan.cuts) {
    renamed(cut.piece);
    renamed(cut.above);
    renamed(cut.below);
  }
  for (Setup& setup : plan.setups) {
    if (on_mill(setup.kind)) setup.part = task.part;
  }
}

PartEnd end_of(const PieceTask& task, bool butt) {
  const LogShape& log = task.shape;
  PartEnd end = part_end(log, butt ? 0.0 : log.length(), task.mill.kerf);
  for (const SawnSide& side : task.piece.sides) {
    if (!side.across() || (side.outward.x() < 0.0) != butt) continue;
    const Eigen::Vector3d& normal = side.cut->normal;
    end = {side.cut->point, normal.x() > 0.0 ? normal : Eigen::Vector3d(-normal),
           0.5 * side.cut->kerf};
  }
  return end;
}

}  // namespace

std::vector<SawPlan> plans_of_piece(const PieceTask& task, double inset) {
  const Wood wood =
      between_cross_cuts(wood_of(task.shape, task.settings.margin_sigmas, inset), task.piece.sides);
  const SearchSpace space = space_of(task.shape, task.mill, task.settings);
  const std::vector<Try> tries = tries_of(task, wood, space);
  const Prices prices = prices_of(task.order, task.mill);
  struct Found {
    LogPlan plan;
    std::size_t from = 0;
  };
  std::vector<std::vector<LogPlan>> by_try(tries.size());
  std::vector<std::unique_ptr<Catalogues>> catalogues;
  for (const Try& lies : tries) {
    catalogues.push_back(std::make_unique<Catalogues>(task.order, task.mill, prices, lies.grid,
                                                      wood.length(), wood.reach()));
    catalogues.back()->all();
  }
#pragma omp parallel for schedule(dynamic, 1)
  for (std::size_t i = 0; i < tries.size(); ++i) {
    by_try[i] = plans_of(task, wood, catalogues[i]->all(), tries[i], space);
  }
  std::vector<Found> found;
  for (std::size_t i = 0; i < tries.size(); ++i) {
    for (LogPlan& plan : by_try[i]) {
      plan.lying = tries[i].lying;
      if (plan.worth > 0.0) found.push_back({std::move(plan), i});
    }
  }
  std::stable_sort(found.begin(), found.end(),
                   [](const Found& a, const Found& b) { return a.plan.worth > b.plan.worth; });
  std::vector<SawPlan> plans;
  for (const Found& each : found) {
    LogLayout layout = layout_of(each.plan, wood, *catalogues[each.from]);
    if (layout.flitches.empty() && layout.cants.empty()) continue;
    SawPlan plan = emit_plan(layout, task.shape, task.order, task.mill);
    name_after(plan, task);
    plans.push_back(std::move(plan));
  }
  return plans;
}

SawPlan plan_of_part(const PieceTask& task, const Replays& replays) {
  const Part part = part_of(task.shape, end_of(task, true), end_of(task, false), full_stations,
                            task.shape.angles);
  if (part.shape.stations.empty()) return {};
  const auto in_log = [&](SawPlan plan) {
    return in_log_frame(std::move(plan), part, task.piece.name, task.shape.length());
  };
  PlanSettings settings = task.settings;
  settings.patterns = patterns_that_suit(task.order);
  const Planned planned = plan_uncut(
      part.shape, task.order, task.mill, settings,
      [&](const SawPlan& made) { return replays(in_log(made)); }, false, 0);
  return planned.plan.boards.empty() ? planned.plan : in_log(planned.plan);
}

}  // namespace kerfwright::saw
