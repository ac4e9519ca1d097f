#pragma once

#include "invented/invented_log.hpp"
#include "kerfwright/shape/log_shape.hpp"

namespace kerfwright {

/// The exact solid over bark as a shape in the invented log's own frame: sigma 0, everything seen,
/// stations at most `step` mm apart, square ends (an oblique face is not part of a shape).
/// `scan_to_log` is the one of the scan that is made of it, so that a plan made from that scan can
/// be carried over. The bark is the log's; where it is a ratio, as much is taken off at each
/// station on average.
LogShape true_shape(const InventedLog& log, const Eigen::Matrix4d& scan_to_log, double step = 10.0,
                    int angles = 256);

}  // namespace kerfwright
