#pragma once

#include <vector>

#include "kerfwright/shape/mark_geometry.hpp"
#include "search.hpp"

namespace kerfwright::saw {

/// Plans that split the log in four by two planes through the pith or near it, square to each
/// other, and saw each quarter parallel to one of its two flat faces, whichever is worth more.
///
/// For given planes each quarter is exact: the stack programme on the wood that the planes leave,
/// its first face being the flat one, which needs no cut. The planes are searched from coarse to
/// fine: turns 15 degrees apart with the pith in both kerfs, then in the best poses the turn, the
/// lift and both planes are moved while that pays. What cannot be worth more than `cutoff` is told
/// from bounds.
std::vector<LogPlan> search_quarters(const Wood& wood, const Catalogue& catalogue,
                                     const SearchSpace& space, double cutoff);

/// The best plan with the two planes at these heights: `first` in `pose`, `second` in the pose a
/// quarter turn further, mm, of the middles of the kerfs. Without a split where it is not worth
/// more than `cutoff`.
LogPlan plan_quarters(const Wood& wood, const Catalogue& catalogue, const SearchSpace& space,
                      const Pose& pose, double first, double second, double cutoff);

}  // namespace kerfwright::saw
