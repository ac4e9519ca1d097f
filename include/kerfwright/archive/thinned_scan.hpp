#pragma once

#include <cstddef>
#include <string>
#include <vector>

#include "kerfwright/scan/find_log.hpp"

namespace kerfwright {

/// The points of the log alone, evenly thinned to at most `most`, as the bytes of a PLY file in the
/// scan file's own axes and unit. 40,000 fit about as well as all of them (DEVELOPERS.md).
std::string thinned_log_ply(const Scan& scan, const std::vector<PointLabel>& labels,
                            std::size_t most = 40'000);

}  // namespace kerfwright
