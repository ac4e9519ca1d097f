#pragma once

#include "stages.hpp"

namespace kerfwright::sheet {

/// What the sheet tells about the cuts of one group, as sawn with the told numbers.
/// @param heights of the group's cuts, as `told_heights` gives them
std::vector<MillCut> mill_cuts(const Told& told, const LogShape& shape,
                               const std::vector<Group>& groups, std::size_t index,
                               const std::vector<Flitch>& flitches,
                               const std::vector<double>& heights);

}  // namespace kerfwright::sheet
