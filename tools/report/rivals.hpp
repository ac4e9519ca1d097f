#pragma once

#include "invented/invented_log.hpp"
#include "kerfwright/scan/scan.hpp"
#include "kerfwright/shape/log_shape.hpp"

namespace kerfwright {

/// The yardstick: medians over cells of the unrolled bark (a station by an angle), smoothed and
/// carried on by squared second differences along the log and round it. Frame, axis, stations and
/// what counts as seen are taken from `frame`, so that only the surface is compared. No sigma.
LogShape cell_medians(const Scan& log, const LogShape& frame);

/// A robust circle (Kasa's fit, reweighted) in each slice between stations; frame as above.
LogShape circles_by_slice(const Scan& log, const LogShape& frame);

/// What two end diameters (tapes round the true ends) and the true length say of the volume, m3:
/// Smalian's rule (mean of the end areas) and a frustum of a cone.
struct TapedVolumes {
  double smalian = 0, frustum = 0;
};
TapedVolumes taped(const InventedLog& log);

}  // namespace kerfwright
