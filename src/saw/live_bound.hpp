#pragma once

#include <functional>

#include "cell_cants.hpp"
#include "grown.hpp"
#include "least_costs.hpp"
#include "pose_search.hpp"

namespace kerfwright::saw {

/// What a bound of sawing through and through, with cants or without, is to cover, and when it is
/// good enough.
struct BoundSpace {
  double most_slope = 0;             ///< every turn, and every slope up to this one either way
  std::optional<CantSpace> cants{};  ///< empty = no cant is turned
  double good = 0;                   ///< a bound as low as this is good enough
  int most_cells = 20000;            ///< that are looked at
  std::function<bool()> stop{};      ///< empty = never
  std::function<void(double worth)> hear{};  ///< hears each bound; called from one thread
  /// Plans the pose in the middle of a cell of high bound; called from several threads. Empty = no
  /// plans are looked for.
  std::function<LogPlan(const Pose&)> try_pose{};
  std::function<double(const LogPlan&)> take{};  ///< takes such a plan, and says what is good now
};

struct LiveBound {
  bool complete = false;  ///< whether every turn and slope was looked at; else there is no bound
  double worth = 0;       ///< no plan is worth more
  int cells = 0;          ///< that were looked at
};

/// An upper bound on sawing through and through in any pose of a cell, with cants or without.
/// @param cutoff what is returned where no plan is worth more
double bound_of_cell(const Wood& wood, const LeastCosts& costs, const PoseCell& cell, double cutoff,
                     const std::optional<CantSpace>& cants = {});

/// What lowered prices take off every plan at most, where an order limits how many it wants: a
/// piece beyond is worth no more than the lowered price, and each wanted one loses what was taken
/// off.
/// @param lowered no more than a piece beyond the wanted ones fetches is taken off
double taken_off(const Order& order, const Prices& full, const Prices& lowered);

/// An upper bound on sawing through and through at any turn and any slope of the space, by branch
/// and bound: the cells of the highest bounds are halved until `good` is reached. In each cell the
/// stack programme runs on the wood grown by what its poses can move, with level lanes in flitches
/// that are edged whole; cuts and lanes lie at whole steps from the chord, as in a PoseSearch.
LiveBound bound_live(const Wood& wood, const LeastCosts& costs, const BoundSpace& space);

}  // namespace kerfwright::saw
