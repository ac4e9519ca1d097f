#pragma once

#include <vector>

#include "search.hpp"

namespace kerfwright::saw {

/// Plans that do not fill the wood to the last millimetre: they give up a little where all is set
/// exactly, for what they keep where it is not. The stack is planned on wood that is taken further
/// in, by several allowances, in poses near the best and in others far from it.
///
/// @param wood_inside the wood that is taken so many mm further in, of the grid of `catalogue`
/// @param found the best plans when all is set exactly, best first
std::vector<LogPlan> plans_with_spare(const std::function<Wood(double)>& wood_inside,
                                      const Catalogue& catalogue, const SearchSpace& space,
                                      const std::vector<LogPlan>& found);

}  // namespace kerfwright::saw
