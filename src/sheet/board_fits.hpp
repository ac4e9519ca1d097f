#pragma once

#include "kerfwright/saw/saw_plan.hpp"
#include "kerfwright/shape/log_shape.hpp"

namespace kerfwright::sheet {

/// Whether a board lies in the wood under bark, but for the wane that its product may have. As
/// replay has it: the full width on the part of the thickness that wane may not touch, and the full
/// thickness on the part of the width. A slab with live edges fits where it is wide enough all
/// along.
bool fits(const Board& board, const Order& order, const LogShape& shape);

/// How far a board stands out of the wood at worst, mm, its wane aside; 0 where it fits.
double shortfall(const Board& board, const Order& order, const LogShape& shape);

/// What share of its value a board fetches where it lies: of a slab less where it is narrower in
/// the mean than its board says; 0 where it does not fit.
double share_there(const Board& board, const Order& order, const LogShape& shape);

/// Whether a board keeps its natural edges.
bool is_slab(const Board& board, const Order& order);

}  // namespace kerfwright::sheet
