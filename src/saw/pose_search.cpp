#include "pose_search.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <numbers>

#include "blade_reach.hpp"
#include "mill_limits.hpp"

namespace kerfwright::saw {
namespace {

constexpr int cant_block = 8;  // heights of a cant that share a near bound

/// strips
int thickest(const Catalogue& catalogue) {
  int strips = 1;
  for (const auto& flitch : catalogue.classes) strips = std::max(strips, flitch.strips);
  return strips;
}

}  // namespace

StackItem cant_item(const Catalogue& catalogue, double size) {
  return {catalogue.grid.strips(size), catalogue.grid.strips(size + catalogue.kerf)};
}

Pose quarter_turn(const Pose& first, double slope) {
  const auto tangent = [](double s) { return s / std::sqrt(1.0 - s * s); };
  return {first.roll + 0.5 * std::numbers::pi + std::asin(tangent(first.slope) * tangent(slope)),
          slope};
}

double sawn_area(const Wood& wood, const Interval& rows) {
  double area = 0.0;
  for (int c = 0; c < wood.cells(); ++c) {
    const auto i = static_cast<std::size_t>(c);
    const int units = rows.right.at[i] - rows.left.at[i];
    if (units > 0) area += units * (wood.border[i + 1] - wood.border[i]) / units_per_mm;
  }
  return area;
}

std::vector<float> fixed_cut_costs(const Catalogue& catalogue) {
  int beyond = 1;
  for (const auto& flitch : catalogue.classes) beyond = std::max(beyond, flitch.pitch);
  for (const double size : catalogue.cant_sizes) {
    beyond = std::max(beyond, cant_item(catalogue, size).pitch);
  }
  return std::vector<float>(static_cast<std::size_t>(catalogue.grid.levels + beyond) + 1,
                            static_cast<float>(catalogue.fixed_cut_cost));
}

namespace {

/// @param sawn finds the wood that a cut at a strip runs through
template <typename Sawn>
std::vector<float> cut_costs_where(const Wood& wood, const Catalogue& catalogue, const Sawn& sawn) {
  std::vector<float> costs = fixed_cut_costs(catalogue);
  if (catalogue.area_cost <= 0.0) return costs;
  Interval rows;
  for (int k = 0; k < catalogue.grid.levels; ++k) {
    sawn(k, rows);
    costs[static_cast<std::size_t>(k)] +=
        static_cast<float>(sawn_area(wood, rows) * catalogue.area_cost);
  }
  return costs;
}

}  // namespace

std::vector<float> cut_costs(const Wood& wood, const Catalogue& catalogue, const Profile& profile) {
  return cut_costs_where(wood, catalogue,
                         [&](int strip, Interval& rows) { profile.common(strip, 1, rows); });
}

std::vector<float> cut_costs(const Wood& wood, const Catalogue& catalogue,
                             const FlitchWorths& between) {
  return cut_costs_where(wood, catalogue,
                         [&](int strip, Interval& rows) { between.strip_at(strip, rows); });
}

std::vector<double> volume_below(const Wood& wood, const Profile& profile) {
  std::vector<double> volume(1, 0.0);
  Interval rows;
  for (int k = 0; k < profile.grid().levels; ++k) {
    profile.common(k, 1, rows);
    volume.push_back(volume.back() + profile.grid().step * sawn_area(wood, rows));
  }
  return volume;
}

double bound_by_volume(const Catalogue& catalogue, const std::vector<double>& volume, double length,
                       std::size_t size, int bottom) {
  const double height = catalogue.cant_sizes[size];
  const auto from = static_cast<std::size_t>(bottom);
  const auto to = from + static_cast<std::size_t>(cant_item(catalogue, height).strips);
  const double wood = volume[to] - volume[from];
  const double extra = wood > 0.0 ? catalogue.kerf * height * length : 0.0;
  return catalogue.most_per_mm3[size] * (1.01 * wood + extra);
}

void add_cant_item(const Catalogue& catalogue, std::size_t size, int step,
                   const std::function<double(int bottom)>& most, StackTable& table) {
  const StackItem item = cant_item(catalogue, catalogue.cant_sizes[size]);
  table.items.push_back(item);
  table.worth.emplace_back(static_cast<std::size_t>(table.levels), 0.0F);
  table.known.emplace_back(static_cast<std::size_t>(table.levels), Known::rough);
  for (int b = 0; b + item.strips < table.levels; b += step) {
    const double worth = most(b);
    if (worth > 0.0) table.worth.back()[static_cast<std::size_t>(b)] = static_cast<float>(worth);
  }
}

void narrow_to_cant(const Catalogue& catalogue, const FlitchWorths& flitches, double size,
                    StackTable& table) {
  for (std::size_t k = 0; k < table.worth.size(); ++k) {
    const float limit = flitches.most_between(catalogue.classes[k], size);
    for (float& worth : table.worth[k]) worth = std::min(worth, limit);
  }
}

std::vector<double> most_of_cants(const Catalogue& catalogue, FlitchWorths& flitches, Edger& edger,
                                  StackTable& wide) {
  for (std::size_t k = 0; k < wide.worth.size(); ++k) {
    for (std::size_t b = 0; b < wide.worth[k].size(); ++b) {
      if (wide.known[k][b] == Known::rough && wide.worth[k][b] > 0.0F) {
        flitches.refine(wide, edger, static_cast<int>(k), static_cast<int>(b));
      }
    }
  }
  std::vector<double> most;
  for (const double size : catalogue.cant_sizes) {
    StackTable narrow = wide;
    narrow_to_cant(catalogue, flitches, size, narrow);
    most.push_back(best_stack(narrow, catalogue.kerf_strips).worth * 1.00001);
  }
  return most;
}

void keep_cants_of_stack(LogPlan& plan, int classes) {
  std::vector<CantPlan> kept;
  for (Placed& placed : plan.stack.items) {
    if (placed.item < classes) continue;
    kept.push_back(plan.cants[static_cast<std::size_t>(placed.item - classes)]);
    placed.item = classes + static_cast<int>(kept.size()) - 1;
  }
  plan.cants = std::move(kept);
}

PoseSearch::PoseSearch(const Wood& wood, const Catalogue& catalogue, const Pose& pose,
                       const Lying& lying)
    : wood_(wood),
      catalogue_(catalogue),
      pose_(pose),
      lying_(lying),
      profile_(wood, pose, catalogue.grid, thickest(catalogue)),
      flitches_(wood, catalogue, profile_, pose.slope, std::nullopt),
      edger_(catalogue, wood.border) {
  table_.cut_cost = cut_costs(wood_, catalogue_, profile_);
  forbid_wide_cuts(wood_, catalogue_, pose_, table_.cut_cost);
  forbid_cuts_at_metal(wood_, catalogue_, pose_, std::nullopt, table_.cut_cost);
  if (!lying.floor && !lying.ceiling)
    table_.reach = blade_reach(wood_, catalogue_, pose_, std::nullopt);
  flitches_.fill(table_);
  keep_between(table_);
}

/// Leaves only what lies between the faces that are there already.
void PoseSearch::keep_between(StackTable& table) const {
  const std::size_t classes = catalogue_.classes.size();
  const auto thickness = [&](std::size_t k) {
    return k < classes ? catalogue_.classes[k].thickness : catalogue_.cant_sizes[k - classes];
  };
  saw::keep_between(lying_, catalogue_.grid, catalogue_.kerf, thickness, table);
}

Stack PoseSearch::live_stack(double cutoff, Known enough) {
  return best_stack_lazily(
      table_, catalogue_.kerf_strips, cutoff, enough,
      [&](int item, int bottom, double) { return flitches_.refine(table_, edger_, item, bottom); });
}

double PoseSearch::live_bound() { return live_stack(0.0, Known::near).worth; }

LogPlan PoseSearch::best_live(double cutoff) {
  LogPlan plan;
  plan.pose = pose_;
  plan.stack = live_stack(cutoff, Known::exact);
  plan.worth = plan.stack.worth;
  return plan;
}

void PoseSearch::add_cants(StackTable& table, const CantSearch& search) {
  for (std::size_t size = 0; size < catalogue_.cant_sizes.size(); ++size) {
    double most = 0.0;
    for (const double slope : search.slopes) most = std::max(most, second(slope).most[size]);
    const auto at_most = [&](int b) {
      return std::min(most, bound_by_volume(catalogue_, volume_, wood_.length(), size, b)) -
             search.turn_cost;
    };
    add_cant_item(catalogue_, size, search.step, at_most, table);
  }
}

LogPlan PoseSearch::best_with_cants(const CantSearch& search, double cutoff) {
  if (volume_.empty()) volume_ = volume_below(wood_, profile_);
  cants_.clear();
  StackTable whole = table_;
  add_cants(whole, search);
  keep_between(whole);
  const auto classes = static_cast<int>(catalogue_.classes.size());
  LogPlan plan;
  plan.pose = pose_;
  plan.stack = best_stack_lazily(
      whole, catalogue_.kerf_strips, cutoff, Known::exact,
      [&](int item, int bottom, double needed) {
        if (item < classes) return flitches_.refine(whole, edger_, item, bottom);
        const auto size = static_cast<std::size_t>(item - classes);
        const Known known =
            whole.known[static_cast<std::size_t>(item)][static_cast<std::size_t>(bottom)];
        if (known == Known::rough) return bound_cants_near(size, bottom, search, needed, whole);
        refine_cant(size, bottom, search, needed, whole);
        return bottom;
      },
      search.must ? classes : -1);
  plan.worth = plan.stack.worth;
  for (Placed& placed : plan.stack.items) {
    if (placed.item < classes) continue;
    const double size = catalogue_.cant_sizes[static_cast<std::size_t>(placed.item - classes)];
    const auto found = std::find_if(cants_.begin(), cants_.end(), [&](const CantPlan& cant) {
      return cant.size == size && cant.bottom == placed.bottom;
    });
    placed.item = classes + static_cast<int>(plan.cants.size());
    plan.cants.push_back(*found);
  }
  return plan;
}

/// Bounds all cants of one size in a block of heights at once. Returns the highest.
int PoseSearch::bound_cants_near(std::size_t size, int bottom, const CantSearch& search,
                                 double needed, StackTable& table) {
  const std::size_t item = catalogue_.classes.size() + size;
  const bool alone = search.step >= cant_block;  // no neighbour to share a bound with
  const int first = alone ? bottom : bottom - bottom % cant_block;
  const int last = alone ? bottom : std::min(first + cant_block - 1, table.levels - 1);
  const CantClip clip = cant_clip(pose_, catalogue_.grid.height(first), catalogue_.cant_sizes[size],
                                  (last - first) * catalogue_.grid.step);
  double most = std::max(0.0, needed + search.turn_cost);
  for (const double slope : search.slopes) {
    if (second(slope).most[size] <= most) continue;
    most = std::max(most, saw_cant(clip, second(slope), most, Known::near).worth);
  }
  const auto worth = static_cast<float>(most * 1.00001 - search.turn_cost);
  for (int b = first; b <= last; ++b) {
    const auto i = static_cast<std::size_t>(b);
    if (table.known[item][i] != Known::rough) continue;
    table.known[item][i] = Known::near;
    table.worth[item][i] = std::min(table.worth[item][i], worth);
  }
  return last;
}

void PoseSearch::refine_cant(std::size_t size, int bottom, const CantSearch& search, double needed,
                             StackTable& table) {
  CantPlan best;
  best.size = catalogue_.cant_sizes[size];
  best.bottom = bottom;
  const CantClip clip = cant_clip(pose_, catalogue_.grid.height(bottom), best.size);
  const double at_least = std::max(0.0, needed + search.turn_cost);
  for (const double slope : search.slopes) {
    if (second(slope).most[size] <= std::max(at_least, best.worth)) continue;
    Stack stack = saw_cant(clip, second(slope), std::max(at_least, best.worth), Known::exact);
    if (stack.worth <= best.worth) continue;
    best.worth = stack.worth;
    best.stack = std::move(stack);
    best.pose = second(slope).pose;
  }
  const std::size_t item = catalogue_.classes.size() + size;
  float& worth = table.worth[item][static_cast<std::size_t>(bottom)];
  if (best.worth <= at_least) {
    // Rounded down: a bound that only rounds back to what it was would be asked for again for ever.
    const auto lowered = static_cast<float>(at_least - search.turn_cost);
    worth = std::nextafter(std::min(worth, lowered), -std::numeric_limits<float>::max());
    return;
  }
  worth = static_cast<float>(best.worth - search.turn_cost);
  table.known[item][static_cast<std::size_t>(bottom)] = Known::exact;
  cants_.push_back(std::move(best));
}

Stack PoseSearch::saw_cant(const CantClip& clip, const Second& setup, double cutoff, Known enough) {
  FlitchWorths flitches(wood_, catalogue_, *setup.profile, setup.pose.slope, clip);
  StackTable table = setup.wide;
  narrow_to_cant(catalogue_, flitches, clip.size, table);
  for (auto& known : table.known) std::fill(known.begin(), known.end(), Known::rough);
  table.reach = blade_reach(wood_, catalogue_, setup.pose, clip);
  if (enough == Known::exact) {
    forbid_cuts_at_metal(wood_, catalogue_, setup.pose, clip, table.cut_cost);
  }
  return best_stack_lazily(table, catalogue_.kerf_strips, cutoff, enough,
                           [&](int item, int bottom, double) {
                             if (const auto changed = flitches.sketch(table, item, bottom))
                               return *changed;
                             return flitches.refine(table, edger_, item, bottom);
                           });
}

const PoseSearch::Second& PoseSearch::second(double slope) {
  const auto found = std::find_if(seconds_.begin(), seconds_.end(),
                                  [&](const Second& s) { return s.pose.slope == slope; });
  if (found != seconds_.end()) return *found;
  Second made;
  made.pose = quarter_turn(pose_, slope);
  made.profile = std::make_unique<Profile>(wood_, made.pose, catalogue_.grid, thickest(catalogue_));
  made.wide.cut_cost = cut_costs(wood_, catalogue_, *made.profile);
  bound_cants_of(made);
  seconds_.push_back(std::move(made));
  return seconds_.back();
}

/// Sawn whole in the second setup, along the lean of the cant's faces, with each flitch narrowed to
/// what lanes in the cant's size can give. A cant's lateral grid starts at its face; half a step of
/// slack makes up for the grid that is used here.
void PoseSearch::bound_cants_of(Second& setup) {
  CantClip everything = cant_clip(pose_, -wood_.reach(), 2.0 * wood_.reach());
  everything.slack = (catalogue_.step_units + 1) / 2;
  FlitchWorths flitches(wood_, catalogue_, *setup.profile, setup.pose.slope, everything);
  StackTable& wide = setup.wide;
  flitches.fill(wide);
  setup.most = most_of_cants(catalogue_, flitches, edger_, wide);
}

}  // namespace kerfwright::saw
