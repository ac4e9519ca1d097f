#include <algorithm>
#include <cmath>

#include "around.hpp"
#include "frame.hpp"
#include "lying.hpp"
#include "mill_limits.hpp"

namespace kerfwright::saw {
namespace {

constexpr double beyond = 3100;    // mm, further than any wood reaches
constexpr float any_heart = 1e6F;  // what a piece is worth about which all else is stacked

int whole_units(double mm) { return static_cast<int>(std::lround(mm * units_per_mm)); }

/// Between faces that no cut has made: a bound for all that follow the same lean.
CantClip endless_clip(double lean, int step_units) {
  CantClip clip;
  clip.lean = lean;
  clip.left = -whole_units(beyond);
  clip.right = whole_units(beyond);
  clip.slack = (step_units + 1) / 2;
  return clip;
}

}  // namespace

AroundWorths::AroundWorths(const Wood& wood, const Catalogue& catalogue, const Pose& first,
                           double slope)
    : wood_(wood), catalogue_(catalogue), edger_(catalogue, wood.border) {
  sides_[0].pose = first;
  sides_[1].pose = quarter_turn(first, slope);
  for (std::size_t d = 0; d < 2; ++d) {
    Side& made = sides_[d];
    made.profile = std::make_unique<Profile>(wood, made.pose, catalogue.grid);
    const double lean = across_of(sides_[1 - d].pose, 0.0, made.pose).lean;
    made.open = std::make_unique<FlitchWorths>(wood, catalogue, *made.profile, made.pose.slope,
                                               std::nullopt);
    made.wide = std::make_unique<FlitchWorths>(wood, catalogue, *made.profile, made.pose.slope,
                                               endless_clip(lean, catalogue.step_units));
    made.costs_if_narrow = cut_costs(wood, catalogue, *made.profile);
    made.costs = made.costs_if_narrow;
    forbid_wide_cuts(wood, catalogue, made.pose, made.costs);
    made.table.cut_cost = made.costs;
    made.open->fill(made.table);
    made.most.assign(catalogue.classes.size(),
                     std::vector<float>(static_cast<std::size_t>(catalogue.grid.levels), -1.0F));
  }
}

AroundFaces around_faces(const std::array<Pose, 2>& poses, int direction, const Between& other,
                         const Catalogue& catalogue) {
  const Pose& mine = poses[static_cast<std::size_t>(direction)];
  const Pose& theirs = poses[static_cast<std::size_t>(1 - direction)];
  const HeightGrid& grid = catalogue.grid;
  const auto lower = other.lower ? std::optional(grid.height(*other.lower)) : std::nullopt;
  const auto upper =
      other.upper ? std::optional(grid.height(*other.upper) - catalogue.kerf) : std::nullopt;
  const bool lower_is_left = Frame(theirs).up.dot(Frame(mine).across) > 0.0;
  const auto at = [&](const std::optional<double>& height) {
    return height ? std::optional(across_of(theirs, *height, mine).at) : std::nullopt;
  };
  AroundFaces faces;
  Lying lying;
  lying.left = faces.left = at(lower_is_left ? lower : upper);
  lying.right = faces.right = at(lower_is_left ? upper : lower);
  lying.lean = across_of(theirs, 0.0, mine).lean;
  if (lower && upper) lying.width = *upper - *lower;
  faces.clip.lean = lying.lean;
  if (lying.has_sides()) faces.clip = *clip_of(lying, catalogue.kerf);
  return faces;
}

std::optional<CantClip> AroundWorths::clip(int direction, const Between& other) const {
  if (!other.lower && !other.upper) return std::nullopt;
  return around_faces({pose(0), pose(1)}, direction, other, catalogue_).clip;
}

float AroundWorths::exact(int direction, int item, int bottom, const Between& other) {
  Side& mine = side(direction);
  const FlitchClass& flitch = catalogue_.classes[static_cast<std::size_t>(item)];
  if (bottom < mine.profile->first_strip() ||
      bottom + flitch.strips - 1 > mine.profile->last_strip()) {
    return 0.0F;
  }
  const auto between = clip(direction, other);
  if (between && !flitch.slabs.empty()) return 0.0F;  // a slab keeps its bark on both sides
  if (between) {
    const FlitchWorths flitches(wood_, catalogue_, *mine.profile, mine.pose.slope, between);
    return static_cast<float>(edger_.best(flitch, flitches.wood_at(flitch, bottom)));
  }
  const auto k = static_cast<std::size_t>(item);
  const auto b = static_cast<std::size_t>(bottom);
  while (mine.table.known[k][b] != Known::exact) {
    mine.open->refine(mine.table, edger_, item, bottom);
  }
  return mine.table.worth[k][b];
}

float AroundWorths::bound(int direction, int item, int bottom, const Between& other) {
  if (!other.lower && !other.upper) return exact(direction, item, bottom, other);
  Side& mine = side(direction);
  const FlitchClass& flitch = catalogue_.classes[static_cast<std::size_t>(item)];
  if (bottom < mine.profile->first_strip() ||
      bottom + flitch.strips - 1 > mine.profile->last_strip()) {
    return 0.0F;
  }
  if (!flitch.slabs.empty()) return 0.0F;
  float& most = mine.most[static_cast<std::size_t>(item)][static_cast<std::size_t>(bottom)];
  if (most < 0.0F) {
    most = static_cast<float>(edger_.best(flitch, mine.wide->wood_at(flitch, bottom))) * 1.00001F;
  }
  const double width = other.lower && other.upper
                           ? catalogue_.grid.step * (*other.upper - *other.lower) - catalogue_.kerf
                           : 0.0;
  return width > 0.0 ? std::min(most, whole_lanes(flitch, width) * 1.00001F) : most;
}

std::vector<float> AroundWorths::cut_costs_between(int direction, const Between& other) const {
  const Side& mine = side(direction);
  const auto between = clip(direction, other);
  const bool narrow = between && between->size > 0.0 && between->size <= catalogue_.max_cut_width;
  std::vector<float> costs = narrow ? mine.costs_if_narrow : mine.costs;
  forbid_cuts_at_metal(wood_, catalogue_, mine.pose, between, costs);
  return costs;
}

std::vector<int> AroundWorths::levels_about(int direction, const StackItem& heart, int bottom,
                                            const Between& other) {
  Side& mine = side(direction);
  const auto between = clip(direction, other);
  FlitchWorths narrow(wood_, catalogue_, *mine.profile, mine.pose.slope, between);
  StackTable table = mine.table;
  if (between) {
    table = {};
    narrow.fill(table);
  }
  table.cut_cost = cut_costs_between(direction, other);
  const auto beside = [&](std::size_t k, int b) {
    return b >= bottom + heart.pitch || b + table.items[k].pitch <= bottom;
  };
  for (std::size_t k = 0; k < table.items.size(); ++k) {
    for (int b = 0; b < table.levels; ++b) {
      if (!beside(k, b)) table.worth[k][static_cast<std::size_t>(b)] = 0.0F;
    }
  }
  const auto levels = static_cast<std::size_t>(table.levels);
  add_item(table, heart, bottom, any_heart);
  const Stack stack = best_stack_lazily(table, catalogue_.kerf_strips, 0.0, Known::near,
                                        [&](int item, int b, double) {
                                          if (between) return narrow.refine(table, edger_, item, b);
                                          mine.open->refine(mine.table, edger_, item, b);
                                          const auto k = static_cast<std::size_t>(item);
                                          for (std::size_t i = 0; i < levels; ++i) {
                                            if (table.worth[k][i] > 0.0F)
                                              table.worth[k][i] = mine.table.worth[k][i];
                                            table.known[k][i] = mine.table.known[k][i];
                                          }
                                          return table.levels;
                                        });
  std::vector<int> found;
  for (const Placed& placed : stack.items) {
    found.push_back(placed.bottom);
    found.push_back(placed.bottom + table.items[static_cast<std::size_t>(placed.item)].pitch);
  }
  return found;
}

}  // namespace kerfwright::saw
