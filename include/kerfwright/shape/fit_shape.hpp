#pragma once

#include "kerfwright/scan/scan.hpp"
#include "kerfwright/shape/bark.hpp"
#include "kerfwright/shape/log_shape.hpp"

namespace kerfwright {

struct ShapeSettings {
  double station_step = 25.0;  ///< mm along the chord, 5 to 100; smaller is finer and slower
  int angles = 128;            ///< samples round a section, 32 to 512
  BarkRule bark = {};          ///< how thick the bark is
};

/// Fits the curved axis and the surface to the points of one log.
/// Radii and sigmas are rounded to 0.01 mm so that a shape read back from its file is the same
/// shape.
/// @throws UserError no_log where the points do not carry a fit
LogShape fit_shape(const Scan& log, const ShapeSettings& settings);

}  // namespace kerfwright
