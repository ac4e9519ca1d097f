#pragma once

#include <vector>

#include "between_planes.hpp"
#include "emit.hpp"
#include "leaning.hpp"

namespace kerfwright::saw {

/// A flitch that came off the saw and is to be edged by what it shows.
struct FlitchInHand {
  const FlitchClass& made;
  const FlitchPlanes& planes;         ///< between which it was sawn
  const FlitchWood& seen;             ///< what is clear between them
  const std::vector<double>& places;  ///< mm along the log, where the plan cuts it across before
                                      ///< it is ripped, increasing
  const std::vector<double>& leans;   ///< of planned lanes, beyond the flitch's own
};

/// What a flitch was edged to.
struct EdgedInHand {
  double value = 0;
  std::vector<Piece> pieces;
  std::vector<double> values;  ///< [piece]
};

/// Edges a flitch as a careful person does who has it on the bench: it is cut across where the plan
/// says, or not at all, whichever fetches more; in each stretch the lanes lie as they do best of
/// what is level, what was planned and what leans_of finds in the wood that is there. The first
/// line is struck where the wood is, so that no spare is left beside it as a plan must.
/// @param order whose products the pieces are
/// @param remaining what it still wants
EdgedInHand edged_in_hand(const FlitchInHand& flitch, const Wood& wood, const Order& order,
                          const Catalogue& catalogue, const Remaining& remaining);

/// mm by which the clear cells of a run are told too short: its wood ends somewhere within the cell
/// beyond, at half of it in the mean. Ends a hair out of square are the trade's tolerance.
double untold_ends(const FlitchClass& made, const FlitchWood& seen, const Wood& wood);

}  // namespace kerfwright::saw
