#include "kerfwright/saw/plan_log.hpp"

#include <omp.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>

#include "emit.hpp"
#include "kerfwright/error.hpp"
#include "kerfwright/saw/replay.hpp"
#include "kerfwright/shape/section.hpp"
#include "kerfwright/trade/target_size.hpp"
#include "search.hpp"

namespace kerfwright {
namespace {

using namespace saw;

// mm; what rounding on the way to a plan can cost. Where a plan does not replay, as between
// stations on a surface of steep bumps, the next is tried.
constexpr std::array<double, 3> paper_insets = {0.15, 0.6, 2.0};
constexpr double most_reach = 3000;  // mm from the chord that the lateral units can hold

/// Lifts that are tried, as slopes: up to what levels the upper side of a tapered log, or half a
/// sweep.
std::vector<double> slopes_to_try(const LogShape& shape, const Mill& mill, int count) {
  const auto mean_radius = [&](std::size_t i) {
    return std::sqrt(outline_area(section_outline(shape, i, Bark::off)) / std::numbers::pi);
  };
  double sweep = 0.0;
  for (const auto& centre : shape.axis) sweep = std::max(sweep, centre.norm());
  const double taper = std::abs(mean_radius(0) - mean_radius(shape.stations.size() - 1));
  const double most = std::min(std::max({taper, 0.5 * sweep, 6.0}), 0.05 * shape.length());
  std::vector<double> slopes;
  const int half = count / 2;
  for (int i = -half; i <= half; ++i) {
    const double lift = half > 0 ? most * i / half : 0.0;
    slopes.push_back(std::round(lift / mill.height_step) * mill.height_step / shape.length());
  }
  slopes.erase(std::unique(slopes.begin(), slopes.end()), slopes.end());
  return slopes;
}

SearchSpace space_of(const LogShape& shape, const Mill& mill, const PlanSettings& settings) {
  SearchSpace space;
  space.turns = 2 * std::max(1, static_cast<int>(std::lround(90.0 / settings.turn_step)));
  space.slopes = slopes_to_try(shape, mill, settings.lifts);
  space.cants = settings.cant;
  space.turn_cost = mill.hourly_rate * mill.minutes_per_turn / 60.0;
  return space;
}

HeightGrid grid_of(const Wood& wood, const Order& order, const Mill& mill,
                   const std::vector<double>& slopes) {
  std::vector<double> sizes;
  for (const Product& product : order.products) {
    sizes.push_back(product.thickness);
    sizes.push_back(product.width);
  }
  const double step = common_step(mill.height_step, mill.kerf, sizes);
  return grid_for(wood, step, slopes.back());
}

std::vector<int> counts_of(const SawPlan& plan, const Order& order) {
  std::vector<int> counts;
  for (const Product& product : order.products) {
    counts.push_back(static_cast<int>(
        std::count_if(plan.boards.begin(), plan.boards.end(),
                      [&](const Board& board) { return board.product == product.name; })));
  }
  return counts;
}

/// One log being planned: the solid, the grid and the space that all attempts share.
class Planner {
 public:
  Planner(const LogShape& shape, const Order& order, const Mill& mill, const PlanSettings& settings,
          double inset)
      : shape_(shape),
        order_(order),
        mill_(mill),
        wood_(wood_of(shape, settings.margin_sigmas, inset)),
        space_(space_of(shape, mill, settings)),
        grid_(grid_of(wood_, order, mill, space_.slopes)) {}

  SawPlan plan() {
    const Prices full = prices_of(order_, mill_);
    const Prices prices = limited() ? scarce_prices(full) : full;
    std::vector<Catalogues> priced;
    priced.push_back(catalogues_of(order_, prices));
    if (prices != full) priced.push_back(catalogues_of(order_, full));
    std::vector<LogPlan> found;
    for (Catalogues& catalogues : priced) {
      for (LogPlan& plan : search(catalogues.all(), space_)) found.push_back(std::move(plan));
    }
    SawPlan best;
    for (Catalogues& catalogues : priced) {
      for (const LogPlan& candidate : found) take_better(best, write(candidate, catalogues));
    }
    return best;
  }

  /// Whether a plan was left out because a board was missing when it was sawn on paper.
  bool refused() const { return refused_; }

 private:
  bool limited() const {
    return std::any_of(order_.products.begin(), order_.products.end(), [](const Product& product) {
      return product.wanted && *product.wanted > 0;
    });
  }

  Catalogues catalogues_of(const Order& order, const Prices& prices) const {
    return {order, mill_, prices, grid_, wood_.length(), wood_.reach()};
  }

  std::vector<LogPlan> search(const Catalogue& catalogue, const SearchSpace& space) const {
    if (catalogue.classes.empty()) return {};
    std::vector<LogPlan> found = search_live(wood_, catalogue, space);
    if (!space.cants) return found;
    const double live = found.empty() ? 0.0 : found.front().worth;
    for (LogPlan& plan : search_cants(wood_, catalogue, space, live))
      found.push_back(std::move(plan));
    return found;
  }

  SawPlan write(const LogPlan& candidate, Catalogues& catalogues) const {
    const LogLayout layout = layout_of(candidate, wood_, catalogues);
    if (layout.flitches.empty() && layout.cants.empty()) return {};
    return emit_plan(layout, shape_, order_, mill_);
  }

  /// A plan counts only if every board of it is there when it is sawn on paper.
  void take_better(SawPlan& best, SawPlan plan) {
    if (plan.boards.empty() || plan.totals.net <= 0.0) return;
    const bool better = best.boards.empty() || plan.totals.net > best.totals.net + 1e-9;
    if (!better) return;
    if (replay(plan, shape_).complete) {
      best = std::move(plan);
    } else {
      refused_ = true;
    }
  }

  /// Where the order limits how many pieces it wants, a piece beyond them is worth nothing. Prices
  /// are lowered, on a coarse search, until the best plan has hardly more than is wanted (the
  /// multipliers of a Lagrangian relaxation, by subgradient steps); what is still too much is edged
  /// away later.
  Prices scarce_prices(const Prices& full) const {
    SearchSpace coarse = space_;
    coarse.turns = std::min(space_.turns, 18);
    coarse.slopes = {0.0};
    coarse.cants = false;
    coarse.keep = 1;
    std::vector<double> share(order_.products.size(), 1.0);
    Prices prices = full;
    for (int round = 0; round < 12; ++round) {
      const std::vector<int> counts = free_counts(prices, coarse);
      bool too_many = false;
      for (std::size_t p = 0; p < counts.size(); ++p) {
        const auto& wanted = order_.products[p].wanted;
        if (!wanted || *wanted == 0) continue;
        const double step = 0.3 / (1.0 + round);
        if (counts[p] > *wanted) {
          share[p] *= 1.0 - step;
          too_many = true;
        } else if (counts[p] < *wanted) {
          share[p] = std::min(1.0, share[p] * (1.0 + 0.5 * step));
        }
        for (std::size_t i = 0; i < prices[p].size(); ++i) prices[p][i] = full[p][i] * share[p];
      }
      if (!too_many) break;
    }
    return prices;
  }

  /// How many pieces of each product the best plan has when none is limited.
  std::vector<int> free_counts(const Prices& prices, const SearchSpace& space) const {
    Order unlimited = order_;
    for (Product& product : unlimited.products) {
      if (product.wanted != 0) product.wanted.reset();
    }
    Catalogues catalogues = catalogues_of(unlimited, prices);
    const std::vector<LogPlan> found = search(catalogues.all(), space);
    if (found.empty()) return std::vector<int>(order_.products.size(), 0);
    return counts_of(
        emit_plan(layout_of(found.front(), wood_, catalogues), shape_, unlimited, mill_),
        unlimited);
  }

  const LogShape& shape_;
  const Order& order_;
  const Mill& mill_;
  Wood wood_;
  SearchSpace space_;
  HeightGrid grid_;
  bool refused_ = false;
};

void check(const LogShape& shape, const PlanSettings& settings) {
  if (!(settings.turn_step >= 0.25 && settings.turn_step <= 45.0) || settings.lifts < 1 ||
      settings.lifts > 21 || settings.lifts % 2 == 0 || !(settings.margin_sigmas >= 0.0)) {
    throw UserError(
        Fault::usage,
        "The turn step must be 0.25 to 45 degrees, the number of lifts odd and 1 to 21, "
        "the margin not negative.");
  }
  if (wood_of(shape, 0.0, 0.0).reach() > most_reach) {
    throw UserError(Fault::log_out_of_range,
                    "The log reaches more than 3 m from the line between its ends.");
  }
}

std::string nothing_fits(const LogShape& shape, const Order& order, const Mill& mill) {
  const auto& smallest = *std::min_element(order.products.begin(), order.products.end(),
                                           [](const Product& a, const Product& b) {
                                             return a.thickness * a.width < b.thickness * b.width;
                                           });
  const auto whole = [](double x) { return std::to_string(std::lround(x)); };
  std::string sentence =
      "No product of the order comes out of this log of " + whole(shape.length()) +
      " mm: the smallest, '" + smallest.name + "' of " + whole(smallest.thickness) + " x " +
      whole(smallest.width) + " x " +
      whole(*std::min_element(smallest.lengths.begin(), smallest.lengths.end())) +
      " mm, does not fit";
  if (mill.hourly_rate > 0.0) sentence += " or fetches less than it costs to saw";
  return sentence + "; give a smaller or shorter product.";
}

}  // namespace

SawPlan plan_log(const LogShape& shape, const Order& wished, const Mill& mill,
                 const PlanSettings& settings) {
  check(shape, settings);
  const Order order = green_order(wished, mill);
  const int threads_before = omp_get_max_threads();
  if (settings.threads > 0) omp_set_num_threads(settings.threads);
  SawPlan plan;
  for (const double inset : paper_insets) {
    Planner planner(shape, order, mill, settings, inset);
    plan = planner.plan();
    if (!plan.boards.empty() || !planner.refused()) break;
  }
  omp_set_num_threads(threads_before);
  if (plan.boards.empty()) {
    throw UserError(Fault::no_product_fits, nothing_fits(shape, order, mill));
  }
  return plan;
}

}  // namespace kerfwright
