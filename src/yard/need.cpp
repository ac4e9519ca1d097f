#include "kerfwright/yard/need.hpp"

#include <algorithm>
#include <cmath>

#include "all_logs.hpp"
#include "kerfwright/error.hpp"
#include "kerfwright/shape/section.hpp"
#include "kerfwright/trade/target_size.hpp"
#include "mill_limits.hpp"
#include "more_logs.hpp"
#include "planner_oracle.hpp"

namespace kerfwright {
namespace {

using namespace yard;

constexpr int angles = 48;
constexpr double station_step = 100;  // mm
constexpr double many_copies = 1e6;
constexpr double dear_piece = 20.0;     // logs: what a piece that is missing costs
constexpr double planner_scale = 50.0;  // currency for a log, so that prices are usual numbers

/// The list as numbers of pieces: what counts is how much wood is taken.
Demand counted(const Order& order) {
  Demand demand = demand_of(order, {});
  for (Line& line : demand.lines) {
    line.beyond = 0.0;
    line.missing = dear_piece;
  }
  for (Kind& kind : demand.kinds) kind.value = 0.0;
  return demand;
}

/// One kind of log, and what it was found to give.
struct Tried {
  double wood = 1.0;  // what one log costs
  std::vector<Offer> offers;
};

/// Asks a log for what is dear until nothing new comes.
void ask_until_known(const Oracle& oracle, std::size_t log, const Demand& demand,
                     std::vector<double> prices, int rounds, Tried& tried) {
  const std::vector<std::optional<int>> no_limits(demand.lines.size());
  for (int round = 0; round < rounds; ++round) {
    for (double& price : prices) price *= planner_scale;
    auto offer = oracle(log, {prices, no_limits, Care::coarse, 1});
    if (!offer) return;
    offer->log = 0;
    offer->worth = 0.0;
    offer->wood = tried.wood;
    if (!add_offer(tried.offers, *offer)) return;
    prices = solve_relaxed(demand, tried.offers, {many_copies}).prices;
  }
}

/// Logs for the whole list, whole; none where some of it never comes.
std::optional<int> whole_logs(const Demand& demand, const Tried& tried) {
  const auto logs = logs_for(demand, tried.offers);
  if (!logs) return std::nullopt;
  return static_cast<int>(std::ceil(*logs - 1e-6));
}

std::vector<std::size_t> never_given(const Demand& demand, const Tried& tried) {
  std::vector<std::size_t> never;
  for (std::size_t i = 0; i < demand.lines.size(); ++i) {
    const bool given =
        std::any_of(tried.offers.begin(), tried.offers.end(),
                    [&](const Offer& offer) { return line_counts(demand, offer.counts)[i] > 0; });
    if (!given && demand.lines[i].wanted > 0) never.push_back(demand.lines[i].product);
  }
  return never;
}

/// Each kind of log once, as usual, good and poor.
std::vector<YardLog> all_kinds(const std::vector<NeedRow>& rows, const BarkRule& bark) {
  std::vector<YardLog> logs;
  for (const NeedRow& row : rows) {
    for (const Growth& growth : {usual_growth, good_growth, poor_growth}) {
      logs.push_back({"", typical_shape(row.log, growth, bark)});
    }
  }
  return logs;
}

std::vector<NeedRow> rows_of(const NeedSettings& settings, const Order& order) {
  std::vector<double> lengths = settings.lengths;
  if (lengths.empty()) {
    double longest = 0.0;
    for (const Product& product : order.products) {
      if (product.wanted.value_or(0) == 0) continue;
      const auto shortest = std::min_element(product.lengths.begin(), product.lengths.end());
      longest = std::max(longest, *shortest);
    }
    lengths = {100.0 * std::ceil(longest / 100.0) + 100.0};
  }
  std::vector<NeedRow> rows;
  for (const double length : lengths) {
    for (const double diameter : settings.diameters)
      rows.push_back({{diameter, length}, 0, {}, {}, {}, {}});
  }
  return rows;
}

/// What a piece is dear by before anything is known: its wood.
std::vector<double> prices_by_wood(const Order& order, const Demand& demand) {
  std::vector<double> prices;
  for (const Kind& kind : demand.kinds) {
    const Product& product = order.products[demand.lines[kind.line].product];
    prices.push_back(1e-8 * product.thickness * product.width * product.lengths[kind.length] /
                     10.0);
  }
  return prices;
}

std::vector<Tried> try_all(const Yard& yard, const Demand& demand, const NeedSettings& settings) {
  const Oracle oracle = planner_oracle(yard, demand);
  const auto first = prices_by_wood(yard.order, demand);
  std::vector<Tried> tried(yard.logs.size());
  visit_all_logs(tried.size(), settings.plan.threads, [&](std::size_t l) {
    ask_until_known(oracle, l, demand, first, settings.rounds, tried[l]);
  });
  return tried;
}

/// All kinds together, each costing its wood.
std::vector<std::pair<std::size_t, int>> mixture_of(const Demand& demand, const Need& need,
                                                    const std::vector<Tried>& tried) {
  std::vector<Offer> offers;
  for (std::size_t r = 0; r < need.rows.size(); ++r) {
    for (Offer offer : tried[3 * r].offers) {
      offer.log = r;
      offer.wood = need.rows[r].m3;
      offers.push_back(offer);
    }
  }
  const Relaxed relaxed =
      solve_relaxed(demand, offers, std::vector<double>(need.rows.size(), many_copies));
  if (offers.empty() || relaxed.missing > 1e-6) return {};
  std::vector<double> logs(need.rows.size(), 0.0);
  for (std::size_t i = 0; i < offers.size(); ++i) logs[offers[i].log] += relaxed.shares[i];
  std::vector<std::pair<std::size_t, int>> mixture;
  for (std::size_t r = 0; r < logs.size(); ++r) {
    const int whole = static_cast<int>(std::ceil(logs[r] - 1e-6));
    if (whole > 0) mixture.emplace_back(r, whole);
  }
  return mixture;
}

}  // namespace

LogShape typical_shape(const TypicalLog& log, const Growth& growth, const BarkRule& bark) {
  LogShape shape;
  shape.angles = angles;
  const int gaps = std::max(2, static_cast<int>(std::lround(log.length / station_step)));
  const double metres = log.length / 1000.0;
  for (int i = 0; i <= gaps; ++i) {
    const double share = static_cast<double>(i) / gaps;
    shape.stations.push_back(log.length * share);
    shape.axis.emplace_back(4.0 * growth.sweep * metres * share * (1.0 - share), 0.0);
    const double diameter = log.diameter + growth.taper * metres * (0.5 - share);
    shape.radius.emplace_back(angles, static_cast<float>(diameter / 2.0));
    shape.sigma.emplace_back(angles, 0.0F);
    shape.seen.emplace_back(angles, static_cast<unsigned char>(1));
  }
  put_bark(shape, bark);
  return shape;
}

Need need_of(const Order& order, const Mill& mill, const NeedSettings& settings) {
  Need need;
  need.order = green_order(order, mill);
  refuse_uncounted(need.order);
  need.rows = rows_of(settings, need.order);
  const std::vector<YardLog> logs = all_kinds(need.rows, settings.bark);
  Order wanted = need.order;
  std::erase_if(wanted.products, [](const Product& product) { return !product.wanted; });
  Mill free = mill;  // only the wood counts
  free.hourly_rate = 0.0;
  free.max_diameter = free.max_log_mass = free.max_cut_width = 1e6;
  Yard yard{logs, wanted, free, {}, {}, {}};
  set_care(yard, settings.plan);
  const Demand demand = counted(wanted);
  const std::vector<Tried> tried = try_all(yard, demand, settings);
  bool any = false;
  for (std::size_t r = 0; r < need.rows.size(); ++r) {
    NeedRow& row = need.rows[r];
    row.m3 = solid_volume_m3(logs[3 * r].shape, Bark::off);
    row.logs = whole_logs(demand, tried[3 * r]);
    row.few = whole_logs(demand, tried[3 * r + 1]);
    row.many = whole_logs(demand, tried[3 * r + 2]);
    // Coarse questions: by chance a poor log may seem to give more than a usual one.
    if (row.logs && row.few) row.few = std::min(*row.few, *row.logs);
    if (row.logs && row.many) row.many = std::max(*row.many, *row.logs);
    for (const std::size_t p : never_given(demand, tried[3 * r])) {
      const auto same =
          std::find_if(need.order.products.begin(), need.order.products.end(),
                       [&](const Product& one) { return one.name == wanted.products[p].name; });
      row.never.push_back(static_cast<std::size_t>(same - need.order.products.begin()));
    }
    any = any || !tried[3 * r].offers.empty();
  }
  if (!any) {
    throw UserError(Fault::no_product_fits,
                    "None of these logs gives any piece of the list: name thicker or longer ones "
                    "with --diameter and --length.");
  }
  need.mixture = mixture_of(demand, need, tried);
  return need;
}

}  // namespace kerfwright
