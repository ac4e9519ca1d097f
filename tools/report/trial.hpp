#pragma once

#include <Eigen/Core>
#include <string>

#include "invented/invented_log.hpp"
#include "kerfwright/scan/scan.hpp"

namespace kerfwright {

/// How the scan of one random log is made.
struct TrialSettings {
  double hidden = 1.0 / 3.0;  ///< share of the girth
  bool draw = true;           ///< noise 2 to 8 mm, 40 to 400 thousand points; else as below
  double noise = 4.0;         ///< mm
  int points = 250000;
  double share = 1.0;  ///< of the points, for a quick look
  bool whole = true;   ///< among ground, rests, clutter and a second log; else the log alone
  std::string keep;    ///< folder in which made scans are kept for the next run; empty = nowhere
};

/// A random log, what a phone saw of it, and the way back from the scan to the truth.
struct Trial {
  int seed = 0;
  InventedLog log;
  Scan scan;                      ///< mm
  Eigen::Matrix4d file_to_truth;  ///< from the scan file's frame to the log's own, mm
};

/// The same seed and settings give the same trial.
Trial make_trial(const TrialSettings& settings, int seed);

}  // namespace kerfwright
