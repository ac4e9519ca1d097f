#pragma once

#include <vector>

#include "log_frame.hpp"

namespace kerfwright {

/// Where what was followed as one log is two that lie in line, mm along its axis, increasing: the
/// bark is missing all round over a little way, or their faces are seen through the gap. Two pieces
/// sawn from one log and put back without a gap cannot be told from one.
std::vector<double> find_joints(const Unwrapped& near, const LogFrame& frame);

}  // namespace kerfwright
