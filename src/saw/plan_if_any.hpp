#pragma once

#include <optional>

#include "kerfwright/saw/plan_log.hpp"

namespace kerfwright::saw {

/// As plan_log, for who asks often and does not want to know why there is nothing.
/// @returns none where no product fits or the watch stopped it before there was a plan
/// @throws UserError as plan_log for all else
std::optional<SawPlan> plan_if_any(const LogShape& shape, const Order& order, const Mill& mill,
                                   const PlanSettings& settings);

}  // namespace kerfwright::saw
