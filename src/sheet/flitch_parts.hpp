#pragma once

#include <map>
#include <string>
#include <vector>

#include "stages.hpp"

/// Flitches that are cut across before they are edged.
namespace kerfwright::sheet {

/// Puts the cuts that part flitches at whole mm from the flitch's butt end. Returns them by the
/// piece that is parted, from butt to top.
std::map<std::string, std::vector<AcrossCut>> round_across(const LogShape& shape, Told& told);

/// Whether a board lies between the cuts that part its flitch.
bool lies_in_part(const Flitch& flitch, const Board& board);

}  // namespace kerfwright::sheet
