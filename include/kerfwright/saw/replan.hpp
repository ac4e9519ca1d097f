#pragma once

#include "kerfwright/saw/plan_log.hpp"

namespace kerfwright {

/// What to saw out of what is left of a log once the first `done` cuts of a plan are made: those
/// cuts and their setups stay as they are, new cuts, setups and boards are numbered on. Each piece
/// that is left is sawn as the plan has it, less what the marks take, or in a new way where that is
/// worth more: on as it lies, from its other side, or with a face of it turned; a flitch is edged
/// anew, a whole part or log planned anew. So without new marks the plan is never worth less than
/// the old one. Boards that are there already stay, with their numbers, while they can be sold.
/// The plan has been replayed on `shape`.
/// @param plan one that replays, but for what was found in the log since
/// @param shape the log with the marks and widths that are known now
/// @throws UserError usage where the plan has no cut `done`, no_product_fits where nothing is left
/// to saw
SawPlan replan(const SawPlan& plan, const LogShape& shape, int done, const PlanSettings& settings);

}  // namespace kerfwright
