#pragma once

#include "choose.hpp"

/// Whole plans for many logs. A log by itself can hardly be fitted to exactly what the others leave
/// open; several at once can.
namespace kerfwright::yard {

/// Settles log after log, those first of which the relaxed programme takes the largest share of one
/// plan, and asks the others each time for what is left of the list, at its prices. Where the time
/// is over nothing more is asked.
Choice settle_one_by_one(Search& search);

/// Frees groups of logs, drawn alike on every machine, and chooses their plans anew, until many in
/// a row bring nothing or what the relaxed programme of all plans says is near.
/// @returns whether that made the choice better
bool refit_groups(Search& search, Choice& choice);

/// Whether the choice brings what no choice among the plans in the pool can exceed but for a share
/// of the list's value.
bool near_bound(const Search& search, const Choice& choice, double share);

}  // namespace kerfwright::yard
