#pragma once

#include "choose.hpp"
#include "kerfwright/yard/yard_plan.hpp"

/// The planner as the one who is asked.
namespace kerfwright::yard {

/// What the oracle needs to know of the yard; it outlives the search.
struct Yard {
  const std::vector<YardLog>& logs;
  Order order;  ///< green
  Mill mill;
  PlanSettings coarse, middle, fine;
};

/// @throws UserError bad_order where nothing is wanted by number
void refuse_uncounted(const Order& order);

/// How a log is planned at prices that are still to change, and how once they stand: `settings` is
/// how a person wants the logs planned that are sawn.
void set_care(Yard& yard, const PlanSettings& settings);

/// The list of an order, less what is made before.
Demand demand_of(const Order& order, const std::vector<int>& before);

/// The order as a log is asked it. Products that nobody wants at these prices are not wanted.
Order priced_order(const Order& order, const Demand& demand, const Ask& ask);

/// A plan that was made at any prices, at those of the order: what the list counts is counted, the
/// rest is worth.
Offer offer_of(std::size_t log, SawPlan plan, const LogShape& shape, const Order& order,
               const Demand& demand);

Oracle planner_oracle(const Yard& yard, const Demand& demand);

}  // namespace kerfwright::yard
