#include "live_bound.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "cell_cants.hpp"
#include "flitch_worths.hpp"
#include "stack.hpp"

namespace kerfwright::saw {
namespace {

constexpr int first_cells = 24;        // over half a circle
constexpr std::size_t batch = 32;      // cells halved between two looks; the same on any machine
constexpr std::size_t tried = 2;       // of them, whose middles are planned
constexpr double unknown = 1e30;       // bound of what was not looked at
constexpr double hardly_grown = 0.02;  // mm, in the mean; finer cells tell no more

/// Of a cut whose upper side is at each level, in whatever pose of the cell it costs least.
std::vector<float> least_cut_costs(const Wood& wood, const Catalogue& catalogue,
                                   const PoseCell& cell) {
  std::vector<float> costs = fixed_cut_costs(catalogue);
  if (catalogue.area_cost <= 0.0) return costs;
  const auto cuts = shared_cuts(wood, cell, catalogue.grid, catalogue.kerf_strips);
  for (std::size_t k = 0; k < cuts.size(); ++k) {
    costs[k] += static_cast<float>(0.9999 * sawn_area(wood, cuts[k]) * catalogue.area_cost);
  }
  return costs;
}

struct Open {
  PoseCell cell;
  double bound = 0;
};

std::vector<Open> halved(const Open& open, const Growth& growth) {
  Open first = open;
  Open second = open;
  if (open.cell.half_roll * growth.per_roll >= open.cell.half_slope * growth.per_slope) {
    const double half = 0.5 * open.cell.half_roll;
    first.cell.half_roll = second.cell.half_roll = half;
    first.cell.middle.roll -= half;
    second.cell.middle.roll += half;
  } else {
    const double half = 0.5 * open.cell.half_slope;
    first.cell.half_slope = second.cell.half_slope = half;
    first.cell.middle.slope -= half;
    second.cell.middle.slope += half;
  }
  return {first, second};
}

bool higher(const Open& a, const Open& b) {
  if (a.bound != b.bound) return a.bound > b.bound;
  if (a.cell.middle.roll != b.cell.middle.roll) return a.cell.middle.roll < b.cell.middle.roll;
  return a.cell.middle.slope < b.cell.middle.slope;
}

}  // namespace

double bound_of_cell(const Wood& wood, const LeastCosts& costs, const PoseCell& cell, double cutoff,
                     const std::optional<CantSpace>& cants) {
  const Catalogue& catalogue = costs.from_slope(std::abs(cell.middle.slope) - cell.half_slope);
  const Profile profile(cell.middle, catalogue.grid, grown_strips(wood, cell, catalogue.grid));
  const double reach = wood.reach();
  Spread spread;
  spread.least_slope = std::max(0.0, std::abs(cell.middle.slope) - cell.half_slope);
  spread.lateral = most_aside(cell, reach);
  spread.height = most_aloft(cell, reach, wood.length());
  FlitchWorths flitches(wood, catalogue, profile, cell.middle.slope, std::nullopt, spread);
  Edger edger(catalogue, wood.border);
  StackTable table;
  table.cut_cost = least_cut_costs(wood, catalogue, cell);
  flitches.fill(table);
  std::optional<CellCants> turned;
  if (cants) {
    turned.emplace(wood, costs, cell, profile, *cants);
    turned->add(table);
  }
  const auto classes = static_cast<int>(catalogue.classes.size());
  const auto refine = [&](int item, int bottom, double needed) {
    if (item < classes) return flitches.refine(table, edger, item, bottom);
    return turned->refine(static_cast<std::size_t>(item - classes), bottom, needed, table);
  };
  const double worth =
      best_stack_lazily(table, catalogue.kerf_strips, cutoff, Known::exact, refine).worth;
  return std::max(cutoff, worth * 1.00001);
}

namespace {

/// The highest bounds first, then halves of the first of them.
class Cells {
 public:
  Cells(const Wood& wood, const LeastCosts& costs, const BoundSpace& space)
      : wood_(wood), costs_(costs), space_(space), growth_(growth_of(wood)) {
    const double half = 0.5 * std::numbers::pi / first_cells;
    for (int i = 0; i < first_cells; ++i) {
      fresh_.push_back({{{(2 * i + 1) * half, 0.0}, half, space.most_slope}, unknown});
    }
  }

  LiveBound bound() {
    LiveBound found;
    double good = space_.good;
    while (true) {
      look(good);
      found.cells += static_cast<int>(fresh_.size());
      std::erase_if(fresh_, [&](const Open& cell) { return cell.bound <= good; });
      open_.insert(open_.end(), fresh_.begin(), fresh_.end());
      std::stable_sort(open_.begin(), open_.end(), higher);
      found.worth = open_.empty() ? good : open_.front().bound;
      found.complete = found.worth < unknown;
      if (found.complete && space_.hear) space_.hear(found.worth);
      if (ended(found)) return found;
      for (const LogPlan& plan : plans_) good = std::max(good, space_.take(plan));
      halve();
    }
  }

 private:
  bool ended(const LiveBound& found) const {
    if (open_.empty() || found.cells >= space_.most_cells) return true;
    return growth_.of(open_.front().cell) < hardly_grown || (space_.stop && space_.stop());
  }

  void look(double good) {
    plans_.assign(space_.try_pose ? to_try_.size() : 0, {});
    const std::size_t count = fresh_.size() + plans_.size();
#pragma omp parallel for schedule(dynamic, 1)
    for (std::size_t i = 0; i < count; ++i) {
      if (space_.stop && space_.stop()) continue;
      if (i < plans_.size()) {
        plans_[i] = space_.try_pose(to_try_[i]);
      } else {
        Open& cell = fresh_[i - plans_.size()];
        cell.bound =
            std::min(cell.bound, bound_of_cell(wood_, costs_, cell.cell, good, space_.cants));
      }
    }
  }

  void halve() {
    fresh_.clear();
    to_try_.clear();
    const std::size_t taken = std::min(batch, open_.size());
    for (std::size_t i = 0; i < taken; ++i) {
      if (i < tried) to_try_.push_back(open_[i].cell.middle);
      for (const Open& part : halved(open_[i], growth_)) fresh_.push_back(part);
    }
    open_.erase(open_.begin(), open_.begin() + static_cast<std::ptrdiff_t>(taken));
  }

  const Wood& wood_;
  const LeastCosts& costs_;
  const BoundSpace& space_;
  Growth growth_;
  std::vector<Open> open_, fresh_;
  std::vector<Pose> to_try_;
  std::vector<LogPlan> plans_;
};

}  // namespace

LiveBound bound_live(const Wood& wood, const LeastCosts& costs, const BoundSpace& space) {
  return Cells(wood, costs, space).bound();
}

}  // namespace kerfwright::saw
