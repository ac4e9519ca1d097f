#pragma once

#include <vector>

#include "around.hpp"
#include "emit.hpp"

namespace kerfwright::saw {

/// The flitches of a log sawn around, in sawing order, the heart last.
std::vector<AroundFlitch> flitches_of(const AroundPlan& plan);

/// The steps in millimetres, without cuts between waste and waste.
/// @param flitches those of flitches_of, without pieces where they are waste
AroundLayout around_layout(const AroundPlan& plan, std::vector<FlitchLayout> flitches,
                           const Catalogue& catalogue);

}  // namespace kerfwright::saw
