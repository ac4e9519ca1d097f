#pragma once

#include "kerfwright/scan/read_scan.hpp"
#include "kerfwright/scan/scan.hpp"

namespace kerfwright {

struct FindSettings {
  std::optional<double>
      log_length;  ///< mm, taped; rescales the result so that the log has this length
  std::optional<Eigen::Vector3d> up;  ///< given by the person, in the file's axes
};

/// Takes away ground, rests, stray points and other logs; what is left is one log, bark and end
/// faces. The result's `up` is set from `settings.up`, else from the ground plane, else left empty;
/// every assumption and everything taken away stands in `notes`.
/// @throws UserError no_log (says what was found instead), log_out_of_range
Scan find_log(const Scan& scan, const FindSettings& settings);

}  // namespace kerfwright
