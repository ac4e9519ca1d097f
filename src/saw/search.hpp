#pragma once

#include <vector>

#include "kerfwright/saw/watch.hpp"
#include "pose_search.hpp"

namespace kerfwright::saw {

struct SearchSpace {
  int turns = 180;  ///< over half a circle, even; the other half gives the same planes upside down
  std::vector<double> slopes;  ///< symmetric about 0, increasing, odd in number
  double turn_cost = 0;        ///< of turning a cant under the saw
  bool must_cant = false;      ///< of the plans with cants only those that have one count
  double lowest_cut = 0;       ///< mm, see Mill
  int keep = 24;               ///< best plans to return
  Watch watch{};               ///< once it stops a search, what was found by then is returned
};

/// Sawing through and through in every pose of the space, exactly: a pose is left out only when an
/// upper bound says that it cannot beat the best found. Best first; of equal plans the one with the
/// smaller turn, then slope.
std::vector<LogPlan> search_live(const Wood& wood, const Catalogue& catalogue,
                                 const SearchSpace& space);

/// Plans with cants, from coarse to fine: poses 6 degrees apart with cants at every 20th strip,
/// then the neighbourhood of the best of them down to the step of the space, then cants at every
/// strip and every slope of the second setup in the best poses. Each plan is exact on the heights
/// that its round tries; that no better pose was passed over is likely, not proven.
std::vector<LogPlan> search_cants(const Wood& wood, const Catalogue& catalogue,
                                  const SearchSpace& space, double worth_to_beat);

/// Sawing through and through where lanes lean and flitches are cross-cut before they are ripped,
/// as freely_edged has it: on a bent log that may pay most in other turns than level lanes say.
/// Every thirtieth degree, level; where that brings more than level lanes, every tenth; where that
/// comes near to `worth_to_beat`, then on from the best of them to neighbouring turns and slopes,
/// down to the step of the space. Not proven. Best first,
/// and only what comes near.
std::vector<LogPlan> search_free(const Wood& wood, const Catalogue& catalogue,
                                 const SearchSpace& space, double worth_to_beat);

}  // namespace kerfwright::saw
