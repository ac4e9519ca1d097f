#pragma once

#include <string>
#include <vector>

#include "kerfwright/saw/saw_plan.hpp"
#include "kerfwright/saw/value_by_turn.hpp"
#include "kerfwright/shape/log_shape.hpp"

namespace kerfwright {

/// The sheet that lies beside the saw, as the text of one HTML file that needs nothing else: how to
/// lay the log, each cut, edging, cross-cuts and the stack, and the log as a model to turn.
/// @param by_turn for the plot of worth by turn; left out where it is empty
std::string saw_sheet_html(const SawPlan& plan, const LogShape& shape,
                           const std::vector<TurnWorth>& by_turn = {});

}  // namespace kerfwright
