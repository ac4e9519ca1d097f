#pragma once

#include "kerfwright/saw/saw_plan.hpp"
#include "kerfwright/shape/log_shape.hpp"

namespace kerfwright::sheet {

/// Whether a board lies in the wood under bark, but for the wane that its product may have. As
/// replay has it: the full width on the part of the thickness that wane may not touch, and the full
/// thickness on the part of the width.
bool fits(const Board& board, const Order& order, const LogShape& shape);

/// How far a board stands out of the wood at worst, mm, its wane aside; 0 where it fits.
double shortfall(const Board& board, const Order& order, const LogShape& shape);

}  // namespace kerfwright::sheet
