#include "planner_oracle.hpp"

#include <algorithm>
#include <cmath>

#include "kerfwright/error.hpp"
#include "plan_if_any.hpp"
#include "planner.hpp"
#include "worth.hpp"

namespace kerfwright::yard {
namespace {

constexpr double nothing = 1e-6;  // of the currency: not worth a cut
// Writing a plan takes longer than finding it: of few poses the best two are written.
constexpr int written_coarse = 2, written_middle = 6;

/// Gives a product other values. A slab with live edges is paid by its width, so that its price is
/// scaled.
void put_values(Product& product, const std::vector<double>& values) {
  const double full = product.value_of(0);
  if (product.live_edge && product.values.empty()) {
    const double share = full > 0.0 ? values.front() / full : 0.0;
    if (product.price_per_m3) product.price_per_m3 = *product.price_per_m3 * share;
    if (product.price_per_m2) product.price_per_m2 = *product.price_per_m2 * share;
    return;
  }
  product.values = values;
  product.price_per_m3.reset();
  product.price_per_m2.reset();
}

void want_none(Product& product) {
  product.wanted = 0;
  product.beyond = 0.0;
}

bool worthless(const std::vector<double>& values) {
  return std::all_of(values.begin(), values.end(), [](double v) { return v <= nothing; });
}

/// A product whose pieces fetch `values` up to a limit.
void ask_for(Product& product, std::vector<double> values, std::optional<int> limit) {
  const std::size_t lengths = product.lengths.size();
  std::vector<double> beyond;
  for (std::size_t i = 0; i < lengths; ++i) beyond.push_back(product.beyond * product.value_of(i));
  if (limit == 0) values = beyond;
  if (worthless(values)) {
    want_none(product);
    return;
  }
  for (double& value : values) value = std::max(value, nothing);
  product.wanted = limit && *limit > 0 ? limit : std::nullopt;
  product.beyond = product.wanted ? std::clamp(beyond[0] / values[0], 0.0, 1.0) : 0.0;
  put_values(product, values);
}

/// Ways of sawing that suit the order and take little time to plan.
std::vector<Pattern> quick_patterns(const Order& order) {
  std::vector<Pattern> patterns = saw::patterns_that_suit(order);
  std::erase_if(patterns, [](Pattern pattern) {
    return pattern == Pattern::cant || pattern == Pattern::quarter || pattern == Pattern::around;
  });
  return patterns;
}

/// Kind of a board; none for what is not counted.
std::optional<std::size_t> kind_of(const Board& board, const Order& order, const Demand& demand) {
  for (std::size_t k = 0; k < demand.kinds.size(); ++k) {
    const Kind& kind = demand.kinds[k];
    const Product& product = order.products[demand.lines[kind.line].product];
    if (product.name == board.product &&
        std::abs(product.lengths[kind.length] - board.length) < 1e-6) {
      return k;
    }
  }
  return std::nullopt;
}

/// The order as if it wanted any number of everything: each board then has its own value.
Order without_limits(Order order) {
  for (Product& product : order.products) product.wanted.reset();
  return order;
}

}  // namespace

void refuse_uncounted(const Order& order) {
  const auto counted = [](const Product& product) { return product.wanted.value_or(0) > 0; };
  if (std::any_of(order.products.begin(), order.products.end(), counted)) return;
  throw UserError(Fault::bad_order,
                  "The list counts nothing: give a [[product]] a number that is 'wanted', or "
                  "plan each log by itself with 'kerfwright plan'.");
}

void set_care(Yard& yard, const PlanSettings& settings) {
  yard.fine = settings;
  yard.fine.draws = 0;
  yard.fine.prices_stand = true;
  yard.fine.watch = {};
  yard.fine.watch.stop = settings.watch.stop;
  const bool any = settings.patterns.empty();
  if (any) {
    yard.fine.patterns = quick_patterns(yard.order);
    yard.fine.patterns.push_back(Pattern::cant);
    yard.fine.patterns.push_back(Pattern::cross_cut);
  }
  yard.middle = yard.fine;
  yard.middle.turn_step = std::max(10.0, settings.turn_step);
  yard.middle.lifts = std::min(3, settings.lifts);
  yard.middle.written = std::min(written_middle, settings.written);
  if (any) yard.middle.patterns = quick_patterns(yard.order);
  yard.coarse = yard.middle;
  yard.coarse.turn_step = std::max(30.0, settings.turn_step);
  yard.coarse.lifts = 1;
  yard.coarse.written = std::min(written_coarse, settings.written);
}

Demand demand_of(const Order& order, const std::vector<int>& before) {
  Demand demand;
  for (std::size_t p = 0; p < order.products.size(); ++p) {
    const Product& product = order.products[p];
    if (!product.wanted) continue;
    const int made = p < before.size() ? before[p] : 0;
    for (std::size_t i = 0; i < product.lengths.size(); ++i) {
      demand.kinds.push_back({demand.lines.size(), i, product.value_of(i)});
    }
    demand.lines.push_back({p, std::max(0, *product.wanted - made), product.beyond, 0.0});
  }
  return demand;
}

Order priced_order(const Order& order, const Demand& demand, const Ask& ask) {
  Order priced = order;
  std::vector<std::vector<double>> values(demand.lines.size());
  for (std::size_t k = 0; k < demand.kinds.size(); ++k) {
    values[demand.kinds[k].line].push_back(ask.prices[k]);
  }
  for (std::size_t i = 0; i < demand.lines.size(); ++i) {
    ask_for(priced.products[demand.lines[i].product], values[i], ask.limits[i]);
  }
  return priced;
}

Offer offer_of(std::size_t log, SawPlan plan, const LogShape& shape, const Order& order,
               const Demand& demand) {
  const double cost = plan.totals.value - plan.totals.net;
  plan.order = without_limits(order);
  saw::grade_boards(plan, saw::WoodMarks(shape));
  plan.order = order;
  plan.totals.net = plan.totals.value - cost;
  plan.totals.bound.reset();  // it held at other prices
  Offer offer;
  offer.log = log;
  offer.counts.assign(demand.kinds.size(), 0);
  offer.worth = plan.totals.net;
  for (const Board& board : plan.boards) {
    const auto k = kind_of(board, order, demand);
    if (!k) continue;
    ++offer.counts[*k];
    const Kind& kind = demand.kinds[*k];
    offer.worth -= (1.0 - demand.lines[kind.line].beyond) * kind.value;
  }
  offer.plan = std::make_shared<const SawPlan>(std::move(plan));
  return offer;
}

Oracle planner_oracle(const Yard& yard, const Demand& demand) {
  return [&yard, demand](std::size_t log, const Ask& ask) -> std::optional<Offer> {
    const Order order = priced_order(yard.order, demand, ask);
    PlanSettings settings = ask.care == Care::fine     ? yard.fine
                            : ask.care == Care::middle ? yard.middle
                                                       : yard.coarse;
    settings.threads = ask.threads;
    const LogShape& shape = yard.logs[log].shape;
    try {
      std::optional<SawPlan> plan = saw::plan_if_any(shape, order, yard.mill, settings);
      if (!plan) return std::nullopt;
      return offer_of(log, std::move(*plan), shape, yard.order, demand);
    } catch (const UserError& error) {
      if (error.fault() != Fault::no_product_fits) throw;  // it suits no pattern
      return std::nullopt;
    }
  };
}

}  // namespace kerfwright::yard
