#pragma once

#include <string>
#include <vector>

#include "kerfwright/saw/saw_plan.hpp"

namespace kerfwright::cli {

/// How many pieces of each product of an order a log gave that is sawn, by its tally (CSV as
/// parse_tally reads it). A board of the plan counts as its product, unless it was measured more
/// than 3 mm thinner or narrower or 20 mm shorter than that is; then, as a piece beside the plan
/// does, it counts as the dearest product that it holds.
/// @param name of the tally, for messages
/// @throws UserError bad_tally
std::vector<int> made_before(const SawPlan& plan, const std::string& tally, const std::string& name,
                             const Order& order);

}  // namespace kerfwright::cli
