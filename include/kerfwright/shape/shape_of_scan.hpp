#pragma once

#include <string>
#include <vector>

#include "kerfwright/scan/find_log.hpp"
#include "kerfwright/scan/read_scan.hpp"
#include "kerfwright/shape/fit_shape.hpp"

namespace kerfwright {

/// Everything that says how a scan becomes a log.
struct ScanToShape {
  ReadSettings read;  ///< `log_length` and `up` are taken from `find`
  FindSettings find;
  ShapeSettings shape;
};

/// A log and the scan it came from.
struct ShapeOfScan {
  LogShape shape;                  ///< with the notes of all steps, in their order
  Scan scan;                       ///< as read
  std::vector<PointLabel> labels;  ///< of each of its points
};

/// From file to log: read, find the log, fit, and bring it to the scale of what was taped. Of
/// several sizes that were taped the length is believed first, then the butt, then the top; the
/// others, and the unit, are compared with it, and what is more than 2 % apart is said in a note.
/// @throws UserError whatever read_scan, look_for_log and fit_shape throw
ShapeOfScan shape_of_scan(const std::string& path, const ScanToShape& settings);

}  // namespace kerfwright
