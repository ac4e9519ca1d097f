#pragma once

#include "pose_search.hpp"

namespace kerfwright::saw {

/// The plan with its stacks chosen anew by what flitches give when they are edged as at the bench,
/// with lanes that lean and cross-cuts before they are ripped. The pose stays, and where its cants
/// lie. Flitches are looked at that belong to a stack worth nearly the best with level lanes; a few
/// heights apart, and between them where the best stack uses them.
///
/// Plans in quarters, around or of a piece that was sawn before stay as they are.
/// @param turn_cost of the second setup
LogPlan freely_edged(const Wood& wood, const Catalogue& catalogue, const LogPlan& plan,
                     double turn_cost);

/// A freely edged plan without cants, its stack moved to the middle of the heights over which it is
/// worth the same: a log is never set exactly. Others stay as they are.
LogPlan in_the_middle_of_its_play(const Wood& wood, const Catalogue& catalogue, LogPlan plan);

}  // namespace kerfwright::saw
