#pragma once

#include <vector>

#include "demand.hpp"

/// The master programme: which plan of which log is sawn. Solved by CLP and CBC, on one thread and
/// silently, so that the same offers give the same answer.
namespace kerfwright::yard {

/// What the relaxed programme says, in which a log may be sawn by shares of several plans.
struct Relaxed {
  double worth = 0;            ///< no choice among these offers brings more
  std::vector<double> prices;  ///< of each kind: what one piece more is worth, beyond what a piece
                               ///< beyond the list fetches
  std::vector<double> logs;    ///< of each log: what another like it would be worth
  std::vector<double> shares;  ///< of each offer
  double missing = 0;          ///< pieces, all lines together
};

/// @param copies how many there are of each log
Relaxed solve_relaxed(const Demand& demand, const std::vector<Offer>& offers,
                      const std::vector<double>& copies);

/// Whole plans only: the best choice that is found within `nodes` of the search tree.
Choice solve_whole(const Demand& demand, std::size_t logs, const std::vector<Offer>& offers,
                   int nodes);

}  // namespace kerfwright::yard
