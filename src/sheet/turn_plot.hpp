#pragma once

#include <string>
#include <vector>

#include "kerfwright/saw/value_by_turn.hpp"

namespace kerfwright::sheet {

/// How far a turn may be off, to either side, degrees, before less than a share of its worth is
/// left; the worth between two turns of the curve runs linearly.
double forgiven(const std::vector<TurnWorth>& curve, double turn, double share);

/// Worth by turn as a round plot in a section of the sheet; nothing where there is no curve.
std::string turn_part(const SawPlan& plan, const std::vector<TurnWorth>& curve);

}  // namespace kerfwright::sheet
