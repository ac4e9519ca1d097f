#include "kerfwright/yard/yard_plan.hpp"

#include <algorithm>
#include <atomic>
#include <cmath>
#include <numeric>

#include "kerfwright/error.hpp"
#include "kerfwright/shape/section.hpp"
#include "kerfwright/trade/target_size.hpp"
#include "mill_limits.hpp"
#include "more_logs.hpp"
#include "planner_oracle.hpp"

namespace kerfwright {

bool YardPlan::filled() const {
  return std::all_of(list.begin(), list.end(),
                     [](const ListLine& line) { return line.missing() == 0; });
}

namespace {

using namespace yard;

// What wood is worth that nobody priced: a share of what is sawn of it (a rule of ours; a m3 of
// logs gives about half a m3 of boards, and the sawing is to be paid too).
constexpr double usual_wood_share = 0.25;
constexpr double most_preference = 20.0;  // of a dear piece before a cheap one, both missing

void refuse_made_list(const Order& order, const std::vector<int>& before) {
  for (std::size_t p = 0; p < order.products.size(); ++p) {
    if (order.products[p].wanted.value_or(0) > before[p]) return;
  }
  throw UserError(Fault::bad_order,
                  "All that the list wants is made already: there is nothing to plan.");
}

void refuse_beyond_mill(const std::vector<YardLog>& logs, const Order& order, const Mill& mill) {
  for (const YardLog& log : logs) {
    try {
      refuse_log_beyond_mill(log.shape, order, mill);
    } catch (const UserError& error) {
      throw UserError(error.fault(), "'" + log.name + "': " + error.what());
    }
  }
}

/// The planner's own sentence about the thickest log, since no log gives anything.
[[noreturn]] void refuse_list(const Yard& yard, const std::vector<double>& wood_m3) {
  const auto largest = std::max_element(wood_m3.begin(), wood_m3.end()) - wood_m3.begin();
  const YardLog& log = yard.logs[static_cast<std::size_t>(largest)];
  std::string why;
  try {
    plan_log(log.shape, yard.order, yard.mill, yard.fine);
  } catch (const UserError& error) {
    why = std::string(" Of the largest, '") + log.name + "': " + error.what();
  }
  throw UserError(Fault::no_product_fits, "No log gives any piece of the list." + why);
}

/// What a m3 of log costs where nobody said so: a share of what a m3 of the list fetches.
double usual_wood_price(const Order& order, const Demand& demand) {
  double value = 0.0, m3 = 0.0;
  for (const Kind& kind : demand.kinds) {
    const Line& line = demand.lines[kind.line];
    const Product& product = order.products[line.product];
    const double share = line.wanted / static_cast<double>(product.lengths.size());
    value += share * kind.value;
    m3 += share * product.thickness * product.width * product.lengths[kind.length] * 1e-9;
  }
  return m3 > 0.0 ? usual_wood_share * value / m3 : 0.0;
}

std::vector<double> wood_costs(const std::vector<double>& wood_m3, double price) {
  std::vector<double> costs;
  for (const double m3 : wood_m3) costs.push_back(price * m3);
  return costs;
}

/// Makes what is missing dearer than any log: the list comes first, and of its pieces the dear
/// ones.
void put_list_first(Search& search) {
  double dearest_log = 1.0;
  for (const Offer& offer : search.pool) {
    const Totals& totals = offer.plan->totals;
    dearest_log = std::max(dearest_log, 2.0 * totals.value - totals.net + offer.wood);
  }
  double cheapest = 1e300;
  for (std::size_t i = 0; i < search.demand.lines.size(); ++i) {
    const double value = dearest_piece(search.demand, i);
    if (value > 0.0) cheapest = std::min(cheapest, value);
  }
  for (std::size_t i = 0; i < search.demand.lines.size(); ++i) {
    const double ratio = dearest_piece(search.demand, i) / cheapest;
    search.demand.lines[i].missing = dearest_log * std::clamp(ratio, 1.0, most_preference);
  }
}

void put_money_first(Search& search) {
  for (Line& line : search.demand.lines) line.missing = 0.0;
}

/// A log's own order: what it gives, and what is still missing.
Order order_of_log(Order order, const Demand& demand, const std::vector<int>& all,
                   const std::vector<int>& of_log) {
  const auto there = line_counts(demand, all), here = line_counts(demand, of_log);
  for (std::size_t i = 0; i < demand.lines.size(); ++i) {
    const int missing = std::max(0, demand.lines[i].wanted - there[i]);
    order.products[demand.lines[i].product].wanted = here[i] + missing;
  }
  return order;
}

void put_list(YardPlan& plan, const Search& search, const std::vector<int>& counts,
              const std::vector<int>& before) {
  const auto lines = line_counts(search.demand, counts);
  for (std::size_t i = 0; i < lines.size(); ++i) {
    const std::size_t product = search.demand.lines[i].product;
    plan.list.push_back({product, *plan.order.products[product].wanted, before[product], lines[i]});
  }
}

/// Logs that fetch the most come first, so that others are left should one turn out worse.
void put_sawing_order(YardPlan& plan) {
  for (std::size_t l = 0; l < plan.plans.size(); ++l) {
    if (plan.plans[l]) plan.sawing.push_back(l);
  }
  std::stable_sort(plan.sawing.begin(), plan.sawing.end(), [&](std::size_t a, std::size_t b) {
    return plan.plans[a]->totals.value > plan.plans[b]->totals.value;
  });
}

void put_plans(YardPlan& plan, const Search& search, const Choice& choice,
               const std::vector<int>& counts) {
  for (std::size_t l = 0; l < choice.size(); ++l) {
    plan.all_m3 += plan.wood_m3[l];
    plan.plans.emplace_back();
    if (!choice[l]) continue;
    SawPlan of_log = *choice[l]->plan;
    of_log.order = order_of_log(plan.order, search.demand, counts, choice[l]->counts);
    plan.hours += of_log.totals.hours;
    plan.sawing_cost += of_log.totals.value - of_log.totals.net;
    plan.board_m3 += of_log.totals.board_m3;
    plan.used_m3 += plan.wood_m3[l];
    plan.plans.back() = std::move(of_log);
  }
}

void put_sums(YardPlan& plan, const Search& search, const Choice& choice,
              const std::vector<int>& counts) {
  double unpaid = 0.0;
  const auto lines = line_counts(search.demand, counts);
  for (std::size_t i = 0; i < lines.size(); ++i) {
    const Line& line = search.demand.lines[i];
    unpaid += std::max(0, line.wanted - lines[i]) * line.missing;
  }
  const double result = worth_of(search.demand, choice) + unpaid;
  plan.value = result + plan.sawing_cost + plan.wood_price * plan.used_m3;
  plan.plans_looked_at = static_cast<int>(search.pool.size());
  if (unpaid > 0.0) return;
  const std::vector<double> one_each(search.logs, 1.0);
  plan.bound = solve_relaxed(search.demand, search.pool, one_each).worth;
}

/// Sets `aim` and the price of the wood, and chooses.
/// @param hurried whether anything was cut short for want of time
Choice fill_or_earn(Search& search, YardPlan& plan, const YardSettings& settings,
                    const std::atomic<bool>& hurried) {
  const auto missing = [&](const Choice& choice) {
    return missing_in(search.demand, counts_of(choice, search.demand.kinds.size()));
  };
  put_list_first(search);
  if (generate(search).missing < 0.5 || settings.list_first) {
    refine(search);
    Choice choice = choose(search);
    // Ended early, what is chosen for the list is nearly all of it.
    if (settings.list_first || missing(choice) == 0 || search.stopped() || hurried) return choice;
  }
  plan.aim = Aim::most_net;
  plan.wood_price = settings.wood_price.value_or(0.0);
  put_money_first(search);
  search.price_wood(wood_costs(plan.wood_m3, plan.wood_price));
  generate(search);
  refine(search);
  return choose(search);
}

}  // namespace

YardPlan plan_yard(const std::vector<YardLog>& logs, const Order& order, const Mill& mill,
                   const YardSettings& settings, const std::vector<int>& made) {
  YardPlan plan;
  plan.order = green_order(order, mill);
  std::vector<int> before = made;
  before.resize(order.products.size(), 0);
  plan.mill = mill;
  refuse_uncounted(plan.order);
  refuse_made_list(plan.order, before);
  refuse_beyond_mill(logs, plan.order, mill);
  refuse_worthless_pieces(plan.order, mill);
  Yard yard{logs, plan.order, mill, {}, {}, {}};
  set_care(yard, settings.plan);
  Search search;
  search.demand = demand_of(plan.order, before);
  search.logs = logs.size();
  search.oracle = planner_oracle(yard, search.demand);
  search.settings.rounds = settings.rounds;
  search.settings.spread = settings.spread;
  search.settings.threads = settings.plan.threads;
  search.settings.watch = settings.plan.watch;
  std::atomic<bool> hurried = false;
  search.settings.watch.hurried = [&, tell = settings.plan.watch.hurried] {
    hurried = true;
    if (tell) tell();
  };
  for (const YardLog& log : logs) {
    plan.wood_m3.push_back(solid_volume_m3(log.shape, Bark::off));
  }
  plan.wood_price = settings.wood_price.value_or(usual_wood_price(plan.order, search.demand));
  search.price_wood(wood_costs(plan.wood_m3, plan.wood_price));
  seed(search);
  if (search.pool.empty()) {
    if (!search.stopped()) refuse_list(yard, plan.wood_m3);
    throw UserError(Fault::interrupted,
                    "Stopped before any plan was found; nothing was written. Give it more time.");
  }
  Choice choice = fill_or_earn(search, plan, settings, hurried);
  if (settings.plan.watch.gone) use_time_left(search, choice);
  const auto counts = counts_of(choice, search.demand.kinds.size());
  put_plans(plan, search, choice, counts);
  put_list(plan, search, counts, before);
  put_sawing_order(plan);
  put_sums(plan, search, choice, counts);
  plan.stopped = search.stopped() || hurried;
  if (!plan.filled()) plan.more = more_logs(search, counts, plan.wood_m3);
  return plan;
}

}  // namespace kerfwright
