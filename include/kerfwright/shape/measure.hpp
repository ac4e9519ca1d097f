#pragma once

#include <string>

#include "kerfwright/shape/log_shape.hpp"

namespace kerfwright {

/// Diameters of one section, mm. The smallest is the least distance between two parallel jaws
/// (calliper).
struct SectionMeasure {
  double x = 0;  ///< mm from the butt
  double mean_over_bark = 0, smallest_over_bark = 0;
  double mean_under_bark = 0, smallest_under_bark = 0;
  double square_under_bark = 0;  ///< at right angles to the smallest
};

/// What a log scaler would want to know.
struct LogMeasures {
  double length = 0;  ///< mm
  SectionMeasure butt, middle, top;
  double sweep = 0;  ///< mm, greatest distance of the axis from the chord (USDA FS NE-172, 1973)
  double sweep_per_m = 0;  ///< mm per metre of length
  double sweep_x = 0;      ///< mm from the butt, where it is greatest
  double sweep_clock =
      0;               ///< hours, 0 < h <= 12, to which the log bows, seen from the butt, 12 = up
  double taper = 0;    ///< mm of diameter per metre, butt to top, over bark
  double ovality = 0;  ///< mean over the stations of 1 - smallest / largest calliper diameter
  double volume_over_bark = 0, volume_under_bark = 0;  ///< m3
  double seen_share = 0;  ///< share of the surface where points were found, 0 to 1
  double sigma_seen = 0, sigma_inferred = 0;  ///< mm, medians
};

LogMeasures measure(const LogShape& shape);

/// The measures as lines of text for a person, units included.
std::string describe(const LogMeasures& measures, bool inches = false);

}  // namespace kerfwright
