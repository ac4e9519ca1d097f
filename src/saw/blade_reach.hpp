#pragma once

#include <optional>

#include "flitch_worths.hpp"
#include "lanes.hpp"
#include "stack.hpp"
#include "wood.hpp"

namespace kerfwright::saw {

/// How far down the blade comes in a pose: no nearer to the bed than the mill's lowest cut. The bed
/// lies under the bark at the bunks.
/// @param clip the cant that is sawn: what was beside it does not carry it. One that holds several
/// cants gives a reach that is no less than that of any of them
BladeReach blade_reach(const Wood& wood, const Catalogue& catalogue, const Pose& pose,
                       const std::optional<CantClip>& clip);

}  // namespace kerfwright::saw
