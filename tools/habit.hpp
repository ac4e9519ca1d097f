#pragma once

#include "kerfwright/saw/saw_plan.hpp"
#include "kerfwright/shape/log_shape.hpp"

namespace kerfwright {

/// How a sawyer opens a log without a plan (common practice, no source): the sweep up, the line
/// between the end centres level, the first face where the bark gives the first board, then board
/// under board, each the one that fetches most for the height it takes; or a cant in the middle
/// with side boards outwards from its faces, sawn likewise after a quarter turn, whichever fetches
/// more. Edging and cutting to length are as good as the planner's. A plan without boards where
/// nothing fits.
SawPlan sawn_by_habit(const LogShape& shape, const Order& order, const Mill& mill);

}  // namespace kerfwright
