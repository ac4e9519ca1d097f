#pragma once

#include <vector>

#include "kerfwright/saw/saw_plan.hpp"
#include "kerfwright/shape/log_shape.hpp"

namespace kerfwright {

/// What a log brings when it is turned so and so.
struct TurnWorth {
  double turn = 0;   ///< degrees clockwise from how it lay when scanned, seen from the butt
  double worth = 0;  ///< order's currency, net of what the cuts cost
};

/// What sawing through and through brings at each turn, with the best opening and the best of three
/// lifts at that turn; whole circle, since past half of it the same planes lie upside down. It
/// shows how much a turn that is a little off costs, not the best plan of all patterns.
/// @param turns how many over half a circle, 4 to 180
std::vector<TurnWorth> value_by_turn(const LogShape& shape, const Order& order, const Mill& mill,
                                     int turns = 36);

}  // namespace kerfwright
