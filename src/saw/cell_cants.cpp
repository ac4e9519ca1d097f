#include "cell_cants.hpp"

#include <algorithm>
#include <cmath>
#include <limits>

#include "pose_search.hpp"

namespace kerfwright::saw {
namespace {

constexpr int heights_together = 8;  // of cants that share a bound
constexpr int most_halvings = 12;    // of the slopes of the second setup
constexpr int rounding = 2;          // units, of rows rounded into the wood

double tangent(double sine) { return sine / std::sqrt(1.0 - sine * sine); }
double secant(double sine) { return 1.0 / std::sqrt(1.0 - sine * sine); }

/// The most that a function of the slope differs within a cell from its middle, where it is
/// greatest at an end.
template <typename Function>
double most_change(const PoseCell& cell, const Function& function) {
  const double middle = function(cell.middle.slope);
  double most = 0.0;
  for (const double by : {-cell.half_slope, cell.half_slope}) {
    most = std::max(most, std::abs(function(cell.middle.slope + by) - middle));
  }
  return most;
}

int units_up(double mm) { return static_cast<int>(std::ceil(mm * units_per_mm)); }

}  // namespace

CellCants::CellCants(const Wood& wood, const LeastCosts& costs, const PoseCell& first,
                     const Profile& grown, const CantSpace& space)
    : wood_(wood),
      costs_(costs),
      catalogue_(costs.from_slope(0.0)),
      first_(first),
      space_(space),
      growth_(growth_of(wood)),
      lean_(tangent(first.middle.slope)),
      lean_spread_(most_change(first, tangent)),
      volume_(volume_below(wood, grown)) {
  const double middle = 0.5 * wood.length();
  // The grown wood of a slope is moved by whole steps, so that it lies within half a step of the
  // middle's in the middle of the log; what is left is how far the lean is from the slope and how
  // the cosine changes.
  const double bent = most_change(first, [](double s) { return tangent(s) - s; });
  const double moved = 2.0 * wood.reach() + 2.0 * first.half_slope * middle;
  const double stretched =
      most_change(first, secant) + secant(std::abs(first.middle.slope) + first.half_slope) - 1.0;
  face_spread_ =
      units_up(0.5 * catalogue_.grid.step + bent * middle + moved * stretched) + rounding;
  for (int c = 0; c < wood.cells(); ++c) {
    const auto i = static_cast<std::size_t>(c);
    const double far =
        std::max(std::abs(wood.border[i] - middle), std::abs(wood.border[i + 1] - middle));
    aside_.at[i] = static_cast<Unit>(units_up(lean_spread_ * far) + rounding);
  }
}

PoseCell CellCants::second_cell(const Stretch& stretch) const {
  const double half = space_.most_slope / (1 << stretch.halvings);
  PoseCell cell;
  cell.half_slope = half;
  const double slope = -space_.most_slope + (2 * stretch.at + 1) * half;
  cell.middle = quarter_turn(first_.middle, slope);
  // Both slopes turn it a little, most at the corners of the two cells.
  double turned = 0.0;
  for (const double by : {-first_.half_slope, first_.half_slope}) {
    for (const double further : {-half, half}) {
      const Pose first{first_.middle.roll, first_.middle.slope + by};
      turned =
          std::max(turned, std::abs(quarter_turn(first, slope + further).roll - cell.middle.roll));
    }
  }
  cell.half_roll = first_.half_roll + turned;
  return cell;
}

const CellCants::Second& CellCants::second(const Stretch& stretch) {
  const auto found = seconds_.find(stretch);
  if (found != seconds_.end()) return found->second;
  const PoseCell cell = second_cell(stretch);
  const HeightGrid& grid = catalogue_.grid;
  Second made;
  made.profile = std::make_unique<Profile>(cell.middle, grid, grown_strips(wood_, cell, grid));
  const double reach = wood_.reach();
  made.spread.least_slope = std::max(0.0, std::abs(cell.middle.slope) - cell.half_slope);
  made.catalogue = &costs_.from_slope(made.spread.least_slope);
  made.edger = std::make_unique<Edger>(*made.catalogue, wood_.border);
  made.spread.lateral = most_aside(cell, reach) + 0.5 * wood_.length() * lean_spread_ +
                        static_cast<double>(face_spread_) / units_per_mm;
  made.spread.height = most_aloft(cell, reach, wood_.length());
  made.spread.least_lean = std::max(0.0, std::abs(lean_) - lean_spread_);
  made.spread.aside = aside_;
  if (catalogue_.area_cost > 0.0) {
    made.sawn = shared_cuts(wood_, cell, grid, catalogue_.kerf_strips);
    put_along_lean(made.sawn);
  }
  bound_all(made);
  return seconds_.emplace(stretch, std::move(made)).first->second;
}

/// Tells what is sawn along the lean of the faces, only what all poses of the cell have.
void CellCants::put_along_lean(std::vector<Interval>& sawn) const {
  for (Interval& rows : sawn) {
    for (int c = 0; c < wood_.cells(); ++c) {
      const auto i = static_cast<std::size_t>(c);
      if (rows.left.at[i] > rows.right.at[i]) continue;
      const double a = lean_ * wood_.border[i] * units_per_mm;
      const double b = lean_ * wood_.border[i + 1] * units_per_mm;
      const int left =
          rows.left.at[i] - static_cast<int>(std::floor(std::min(a, b))) + aside_.at[i];
      const int right =
          rows.right.at[i] - static_cast<int>(std::ceil(std::max(a, b))) - aside_.at[i];
      const bool some = left < right;
      rows.left.at[i] = some ? static_cast<Unit>(left) : std::numeric_limits<Unit>::max();
      rows.right.at[i] = some ? static_cast<Unit>(right) : std::numeric_limits<Unit>::min();
    }
  }
}

/// Sawn whole, with each flitch narrowed to what lanes in the cant's size can give.
void CellCants::bound_all(Second& made) {
  CantClip everything = cant_clip(first_.middle, -wood_.reach(), 2.0 * wood_.reach());
  everything.left = std::numeric_limits<Unit>::min();
  everything.right = std::numeric_limits<Unit>::max();
  everything.size = 0.0;
  everything.slack = (catalogue_.step_units + 1) / 2;
  const Catalogue& catalogue = *made.catalogue;
  FlitchWorths flitches(wood_, catalogue, *made.profile, made.profile->pose().slope, everything,
                        made.spread);
  StackTable& wide = made.wide;
  flitches.fill(wide);
  wide.cut_cost = fixed_cut_costs(catalogue);
  made.most = most_of_cants(catalogue, flitches, *made.edger, wide);
}

void CellCants::add(StackTable& table) {
  const Second& all = second({});
  for (std::size_t size = 0; size < catalogue_.cant_sizes.size(); ++size) {
    const auto at_most = [&](int b) {
      return std::min(all.most[size],
                      bound_by_volume(catalogue_, volume_, wood_.length(), size, b)) -
             space_.turn_cost + cuts_beside_wood(size, b, table);
    };
    add_cant_item(catalogue_, size, 1, at_most, table);
  }
}

int CellCants::refine(std::size_t size, int bottom, double needed, StackTable& table) {
  const std::size_t item = catalogue_.classes.size() + size;
  auto& known = table.known[item];
  const bool rough = known[static_cast<std::size_t>(bottom)] == Known::rough;
  const int first = rough ? bottom - bottom % heights_together : bottom;
  const int last = rough ? std::min(first + heights_together, table.levels) - 1 : bottom;
  double beside = 0.0;
  for (int b = first; b <= last; ++b) {
    beside = std::max(beside, cuts_beside_wood(size, b, table));
  }
  const double at_least = std::max(0.0, needed + space_.turn_cost - beside);
  const double most = best_of(cants_at(size, first, last - first + 1), {}, at_least);
  // Rounded down where it does not matter: a bound that only rounds back to what it was would be
  // asked for again for ever.
  const bool matters = most > at_least || at_least <= 0.0;
  auto worth =
      static_cast<float>((matters ? most * 1.00001 : at_least) - space_.turn_cost + beside);
  if (!matters) worth = std::nextafter(worth, -std::numeric_limits<float>::max());
  for (int b = first; b <= last; ++b) {
    const auto i = static_cast<std::size_t>(b);
    if (known[i] == Known::exact) continue;
    table.worth[item][i] = std::min(table.worth[item][i], worth);
    if (rough) known[i] = Known::near;
    if (!rough && matters) known[i] = Known::exact;
  }
  return last;
}

double CellCants::cuts_beside_wood(std::size_t size, int bottom, const StackTable& table) const {
  const int above = bottom + cant_item(catalogue_, catalogue_.cant_sizes[size]).pitch;
  double cost = 0.0;
  for (const int level : {bottom, above}) {
    const bool may_be_empty = table.cut_cost[static_cast<std::size_t>(level)] <=
                              static_cast<float>(catalogue_.fixed_cut_cost);
    if (may_be_empty) cost += catalogue_.fixed_cut_cost;
  }
  return cost;
}

CellCants::Cants CellCants::cants_at(std::size_t size, int bottom, int heights) const {
  const HeightGrid& grid = catalogue_.grid;
  Cants cants;
  cants.size = size;
  cants.clip = cant_clip(first_.middle, grid.height(bottom), catalogue_.cant_sizes[size]);
  const double steepest = std::abs(first_.middle.slope) + first_.half_slope;
  const int higher = units_up((heights - 1) * grid.step * secant(steepest));
  cants.left = cants.clip.left + face_spread_;
  cants.right = cants.clip.right - higher - face_spread_;
  cants.clip.left -= higher + face_spread_;
  cants.clip.right += face_spread_;
  cants.clip.zero = cants.clip.left;
  // Lanes may lie half a step aside of the grid that is used here.
  cants.clip.slack = (catalogue_.step_units + 1) / 2;
  return cants;
}

/// No such cant with a second slope of the stretch is worth more; `cutoff` where none is worth
/// more than that.
double CellCants::best_of(const Cants& cants, const Stretch& stretch, double cutoff) {
  const Second& all = second(stretch);
  if (all.most[cants.size] <= cutoff) return cutoff;
  const double most = std::max(cutoff, saw(cants, all, cutoff));
  const double growth = space_.most_slope / (1 << stretch.halvings) * growth_.per_slope;
  if (most <= cutoff || growth <= growth_.of(first_) || stretch.halvings == most_halvings)
    return most;
  double best = cutoff;
  for (const int half : {0, 1}) {
    best = best_of(cants, {stretch.halvings + 1, 2 * stretch.at + half}, best);
  }
  return std::min(most, best);
}

double CellCants::saw(const Cants& cants, const Second& setup, double cutoff) {
  const Catalogue& catalogue = *setup.catalogue;
  FlitchWorths flitches(wood_, catalogue, *setup.profile, setup.profile->pose().slope, cants.clip,
                        setup.spread);
  StackTable table = setup.wide;
  narrow_to_cant(catalogue, flitches, catalogue.cant_sizes[cants.size], table);
  for (auto& known : table.known) std::fill(known.begin(), known.end(), Known::rough);
  Interval rows;
  for (std::size_t level = 0; level < setup.sawn.size(); ++level) {
    rows = setup.sawn[level];
    for (int c = 0; c < wood_.cells(); ++c) {
      const auto i = static_cast<std::size_t>(c);
      rows.left.at[i] =
          static_cast<Unit>(std::max<int>(rows.left.at[i], cants.left + aside_.at[i]));
      rows.right.at[i] =
          static_cast<Unit>(std::min<int>(rows.right.at[i], cants.right - aside_.at[i]));
    }
    table.cut_cost[level] +=
        static_cast<float>(0.9999 * sawn_area(wood_, rows) * catalogue_.area_cost);
  }
  const auto refine = [&](int item, int bottom, double) {
    if (const auto changed = flitches.sketch(table, item, bottom)) return *changed;
    return flitches.refine(table, *setup.edger, item, bottom);
  };
  return best_stack_lazily(table, catalogue.kerf_strips, cutoff, Known::exact, refine).worth;
}

}  // namespace kerfwright::saw
