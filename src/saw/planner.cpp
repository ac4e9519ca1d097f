#include "planner.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>

#include "around.hpp"
#include "kerfwright/shape/section.hpp"
#include "name_by_boards.hpp"
#include "quarter_search.hpp"
#include "setting_errors.hpp"

namespace kerfwright::saw {
namespace {

constexpr double near_to_best = 0.9;  // edging may tell plans apart by that when they are written
// Shares of the time that is left; they matter only where it has an end.
constexpr double time_of_each = 0.4;          // for one way of sawing, while others are to come
constexpr double time_before_draws = 0.7;     // for all of them, while choosing by draws is to come
constexpr double time_for_prices = 0.15;      // to lower them where an order limits its pieces
constexpr std::size_t few = 4;                // plans that are written where no time is left, or
                                              // more, until one of them counts
constexpr double worth_another_inset = 1.02;  // a plan that did not replay, over the best that did
constexpr int quick_turns = 12;               // over half a circle
constexpr double quick_step = 1;              // mm, of heights and across

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

void put_best_first(std::vector<LogPlan>& plans) {
  std::stable_sort(plans.begin(), plans.end(),
                   [](const LogPlan& a, const LogPlan& b) { return a.worth > b.worth; });
}

}  // namespace

SearchSpace space_of(const LogShape& shape, const Mill& mill, const PlanSettings& settings) {
  SearchSpace space;
  space.turns = 2 * std::max(1, static_cast<int>(std::lround(90.0 / settings.turn_step)));
  space.slopes = slopes_to_try(shape, mill, settings.lifts);
  space.turn_cost = mill.hourly_rate * mill.minutes_per_turn / 60.0;
  space.lowest_cut = mill.lowest_cut;
  space.keep = settings.written;
  space.watch = settings.watch;
  return space;
}

namespace {

std::vector<int> counts_of(const SawPlan& plan, const Order& order) {
  std::vector<int> counts;
  for (const Product& product : order.products) {
    counts.push_back(static_cast<int>(
        std::count_if(plan.boards.begin(), plan.boards.end(),
                      [&](const Board& board) { return board.product == product.name; })));
  }
  return counts;
}

}  // namespace

HeightGrid grid_of(const Wood& wood, const Order& order, const Mill& mill, double steepest) {
  std::vector<double> sizes;
  for (const Product& product : order.products) {
    sizes.push_back(product.thickness);
    if (!product.live_edge) sizes.push_back(product.width);
  }
  double step = common_step(mill.height_step, mill.kerf, sizes);
  // No part of an inch is common to sizes in mm; heights that the scale has cost no wood when they
  // are told.
  if (mill.inches) step = mill.height_step;
  return grid_for(wood, step, steepest);
}

Planner::Planner(const LogShape& shape, const Order& order, const Mill& mill,
                 const PlanSettings& settings, double inset)
    : shape_(shape),
      order_(order),
      mill_(mill),
      patterns_(settings.patterns),
      margin_(settings.margin_sigmas),
      inset_(inset),
      draws_(settings.draws),
      prices_stand_(settings.prices_stand),
      gap_(settings.gap),
      wood_(wood_of(shape, settings.margin_sigmas, inset)),
      space_(space_of(shape, mill, settings)),
      grid_(grid_of(wood_, order, mill, space_.slopes.back())) {}

Planned Planner::plan(const Replays& replays, bool square_ends, std::uint64_t stream) {
  const Prices full = prices_of(order_, mill_);
  const Prices scarce = prices();
  std::vector<Catalogues> priced;  // the last at full prices
  // A dearer plan without a beam would be thrown away as not asked for.
  const bool asked = is_among(patterns_, Pattern::boxed_heart) &&
                     !(is_among(patterns_, Pattern::live) && is_among(patterns_, Pattern::cant));
  if (asked) priced.push_back(catalogues_of(order_, prices_for_hearts(scarce)));
  priced.push_back(catalogues_of(order_, scarce));
  if (scarce != full) priced.push_back(catalogues_of(order_, full));
  std::vector<LogPlan> found;
  const Watch watch = draws_ > 0 && !gap_ ? space_.watch.within(time_before_draws) : space_.watch;
  double left = static_cast<double>(priced.size());
  for (Catalogues& catalogues : priced) {
    for (LogPlan& plan : search(catalogues.all(), watch.within(1.0 / left--))) {
      found.push_back(std::move(plan));
    }
  }
  Planned planned;
  // What is proven is the net on paper: then it chooses, and the draws only tell. So they do where
  // no time is left to choose.
  const bool sure = draws_ > 0 && !gap_ && !space_.watch.stopped();
  if (sure) {
    planned = sure_plan(found, priced, replays, square_ends, stream);
  } else {
    const bool hurried = space_.watch.stopped();
    if (hurried) put_best_first(found);
    std::vector<Candidate> written;
    for (Catalogues& catalogues : priced) {
      for (std::size_t i = 0; i < found.size(); ++i) {
        if (hurried && i >= few && !planned.plan.boards.empty()) break;
        SawPlan plan = write(found[i], catalogues, square_ends);
        if (!hurried && counts(plan)) written.push_back({found[i], plan});
        take_better(planned.plan, std::move(plan), replays);
      }
    }
    const std::size_t taken = written.size();
    add_freely_edged(written, priced, square_ends);
    for (std::size_t i = taken; i < written.size(); ++i) {
      take_better(planned.plan, std::move(written[i].written), replays);
    }
  }
  if (gap_) prove(planned, priced, scarce, replays, square_ends);
  if (draws_ > 0 && !sure) tell_draws(planned, priced.back(), stream);
  return planned;
}

Prices Planner::prices() const {
  const Prices full = prices_of(order_, mill_);
  return limited() && !prices_stand_ ? scarce_prices(full) : full;
}

/// Where boxing the heart is asked for and not all else that could beat it, a beam must come before
/// all boards: the
/// longer it is, the more is added to its price, up to what no other plan of the log can fetch.
Prices Planner::prices_for_hearts(Prices prices) const {
  double densest = 0.0;
  for (std::size_t p = 0; p < prices.size(); ++p) {
    const Product& product = order_.products[p];
    for (std::size_t i = 0; i < prices[p].size(); ++i) {
      densest = std::max(densest,
                         prices[p][i] / (product.thickness * product.width * product.lengths[i]));
    }
  }
  const double most = densest * solid_volume_m3(shape_, Bark::off) * 1e9;
  for (std::size_t p = 0; p < prices.size(); ++p) {
    if (!order_.products[p].boxed_heart) continue;
    for (std::size_t i = 0; i < prices[p].size(); ++i) {
      prices[p][i] += most * order_.products[p].lengths[i] / wood_.length();
    }
  }
  return prices;
}

double Planner::quick_worth(const Prices& prices) const {
  const HeightGrid grid = grid_for(wood_, std::max(grid_.step, quick_step), 0.0);
  const Catalogue catalogue =
      catalogue_of(order_, mill_, prices, grid, wood_.length(), wood_.reach(), false,
                   static_cast<int>(quick_step * units_per_mm));
  if (catalogue.classes.empty()) return 0.0;
  double best = 0.0;
  for (int turn = 0; turn < quick_turns; ++turn) {
    const Pose pose{turn * std::numbers::pi / quick_turns, 0.0};
    best = std::max(best, PoseSearch(wood_, catalogue, pose).best_live(best).worth);
  }
  return best;
}

bool Planner::limited() const {
  return std::any_of(order_.products.begin(), order_.products.end(),
                     [](const Product& product) { return product.wanted && *product.wanted > 0; });
}

std::vector<LogPlan> Planner::search_around_of(const Catalogue& catalogue, const SearchSpace& space,
                                               const std::vector<LogPlan>& seeds) const {
  double best = 0.0;
  for (const LogPlan& seed : seeds) best = std::max(best, seed.worth);
  auto found = search_around(wood_, catalogue, space, seeds, best);
  // Where it cannot come near to the others it may still be all that is asked for.
  if (found.empty()) found = search_around(wood_, catalogue, space, seeds, 0.0);
  return found;
}

/// Whether a plan without a cant would be thrown away, though it be worth more.
bool Planner::must_cant() const {
  return is_among(patterns_, Pattern::cant) && !is_among(patterns_, Pattern::live);
}

/// Where a cant must be and none of the usual thickness suits the order, a thin one is taken.
Catalogues Planner::catalogues_of(const Order& order, const Prices& prices) const {
  Catalogues usual(order, mill_, prices, grid_, wood_.length(), wood_.reach(), false);
  if (!must_cant() || !usual.all().cant_sizes.empty()) return usual;
  return {order, mill_, prices, grid_, wood_.length(), wood_.reach(), true};
}

std::vector<LogPlan> Planner::search(const Catalogue& catalogue, const Watch& watch) const {
  if (catalogue.classes.empty()) return {};
  SearchSpace space = space_;
  std::vector<LogPlan> found;
  const auto add = [&](std::vector<LogPlan> plans) {
    for (LogPlan& plan : plans) found.push_back(std::move(plan));
  };
  // Sawing around starts from the best plans without it, whether they are asked for or not.
  const bool around = is_among(patterns_, Pattern::around);
  const bool flitches = is_among(patterns_, Pattern::slabs) || is_among(patterns_, Pattern::blanks);
  const bool any = around || is_among(patterns_, Pattern::boxed_heart);
  const bool cants = any || (is_among(patterns_, Pattern::cant) && !must_cant());
  const bool quarters = is_among(patterns_, Pattern::quarter);
  if (any || flitches || is_among(patterns_, Pattern::live)) {
    space.watch = cants || quarters ? watch.within(time_of_each) : watch;
    add(search_live(wood_, catalogue, space));
  }
  const double live = found.empty() ? 0.0 : found.front().worth;
  if (cants) {
    space.watch = around || quarters ? watch.within(2.0 * time_of_each) : watch;
    add(search_cants(wood_, catalogue, space, live));
  }
  if (around) {
    space.watch = quarters ? watch.within(time_of_each) : watch;
    add(search_around_of(catalogue, space, found));
  }
  space.watch = watch;
  if (must_cant()) {
    SearchSpace with_cants = space;
    with_cants.must_cant = true;
    add(search_cants(wood_, catalogue, with_cants, 0.0));
  }
  if (quarters) {
    // Beside others it is worth looking at where it can come near to them. Where live sawing and
    // cants are not both asked for, some of what was found only helped to search and will not
    // count.
    double best = 0.0;
    if (is_among(patterns_, Pattern::live) && is_among(patterns_, Pattern::cant)) {
      for (const LogPlan& plan : found) best = std::max(best, plan.worth);
    }
    add(search_quarters(wood_, catalogue, space, near_to_best * best));
  }
  return found;
}

SawPlan Planner::write(const LogPlan& candidate, Catalogues& catalogues, bool square_ends) const {
  LogLayout layout = layout_of(candidate, wood_, catalogues);
  const bool whole = !layout.split && !layout.around;
  if (whole && layout.flitches.empty() && layout.cants.empty()) return {};
  if (layout.around && layout.around->steps.empty()) return {};
  layout.square_ends = square_ends;
  SawPlan plan = emit_plan(layout, shape_, order_, mill_);
  name_by_boards(plan, patterns_);
  return plan;
}

bool Planner::counts(const SawPlan& plan) const {
  if (plan.boards.empty() || plan.totals.net <= 0.0) return false;
  const std::vector<Pattern> patterns = patterns_named(plan.pattern);
  return std::all_of(patterns.begin(), patterns.end(),
                     [&](Pattern pattern) { return is_among(patterns_, pattern); });
}

/// A plan counts only if every board of it is there when it is sawn on paper.
void Planner::take_better(SawPlan& best, SawPlan plan, const Replays& replays) {
  if (!counts(plan)) return;
  const bool better = best.boards.empty() || plan.totals.net > best.totals.net + 1e-9;
  if (!better) return;
  if (replays(plan)) {
    best = std::move(plan);
    if (space_.watch.better) space_.watch.better(best.totals.net);
  } else {
    best_refused_ = std::max(best_refused_, plan.totals.net);
  }
}

/// Where the order limits how many pieces it wants, a piece beyond them is worth nothing. Prices
/// are lowered, on a coarse search, until the best plan has hardly more than is wanted (the
/// multipliers of a Lagrangian relaxation, by subgradient steps); what is still too much is edged
/// away later.
Prices Planner::scarce_prices(const Prices& full) const {
  SearchSpace coarse = space_;
  coarse.turns = std::min(space_.turns, 18);
  coarse.slopes = {0.0};
  coarse.keep = 1;
  coarse.watch = space_.watch.within(time_for_prices);
  coarse.watch.progress = {};
  std::vector<double> share(order_.products.size(), 1.0);
  Prices prices = full;
  for (int round = 0; round < 12 && !coarse.watch.stopped(); ++round) {
    const std::vector<int> counts = free_counts(prices, coarse);
    bool too_many = false;
    for (std::size_t p = 0; p < counts.size(); ++p) {
      const auto& wanted = order_.products[p].wanted;
      if (!wanted || *wanted == 0) continue;
      const double step = 0.3 / (1.0 + round);
      if (counts[p] > *wanted) {
        const double beyond = order_.products[p].beyond;
        too_many = too_many || share[p] > beyond;
        share[p] = std::max(beyond, share[p] * (1.0 - step));
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
std::vector<int> Planner::free_counts(const Prices& prices, const SearchSpace& space) const {
  Order unlimited = order_;
  for (Product& product : unlimited.products) {
    if (product.wanted != 0) product.wanted.reset();
  }
  Catalogues catalogues = catalogues_of(unlimited, prices);
  const std::vector<LogPlan> found = search_live(wood_, catalogues.all(), space);
  if (found.empty()) return std::vector<int>(order_.products.size(), 0);
  return counts_of(emit_plan(layout_of(found.front(), wood_, catalogues), shape_, unlimited, mill_),
                   unlimited);
}

bool any_boxes_heart(const Order& order) {
  return std::any_of(order.products.begin(), order.products.end(),
                     [](const Product& product) { return product.boxed_heart; });
}

bool any_blank(const Order& order) {
  return std::any_of(order.products.begin(), order.products.end(),
                     [](const Product& product) { return product.blank; });
}

bool any_live_edge(const Order& order) {
  return std::any_of(order.products.begin(), order.products.end(),
                     [](const Product& product) { return product.live_edge; });
}

std::vector<Pattern> patterns_that_suit(const Order& order) {
  std::vector<Pattern> patterns = {Pattern::live, Pattern::cant, Pattern::quarter, Pattern::around};
  if (any_boxes_heart(order)) patterns.push_back(Pattern::boxed_heart);
  if (any_live_edge(order)) patterns.push_back(Pattern::slabs);
  if (any_blank(order)) patterns.push_back(Pattern::blanks);
  return patterns;
}

Planned better_of(Planned first, Planned second, const PlanSettings& settings) {
  if (first.plan.boards.empty()) return second;
  if (second.plan.boards.empty()) return first;
  const double before = first.plan.totals.net;
  const double after = second.plan.totals.net;
  const bool drawn = !settings.gap && !first.draws.empty() && !second.draws.empty();
  const bool better = drawn ? better_in_the_mean({second.draws, after}, {first.draws, before})
                            : after > before + 1e-9;
  return better ? second : first;
}

Planned plan_uncut(const LogShape& shape, const Order& order, const Mill& mill,
                   const PlanSettings& settings, const Replays& replays, bool square_ends,
                   std::uint64_t stream) {
  Planned best;
  for (const double inset : paper_insets) {
    Planner planner(shape, order, mill, settings, inset);
    best = better_of(std::move(best), planner.plan(replays, square_ends, stream), settings);
    const bool far_better = planner.best_refused() > worth_another_inset * best.plan.totals.net;
    if (!far_better || settings.watch.stopped()) break;
  }
  return best;
}

}  // namespace kerfwright::saw
