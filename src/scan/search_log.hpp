#pragma once

#include <optional>
#include <string>
#include <vector>

#include "kerfwright/scan/find_log.hpp"
#include "search_cloud.hpp"

namespace kerfwright {

/// A round thing that was not taken.
struct OtherLog {
  Eigen::Vector3d middle;               ///< mm
  double length = 0.0, diameter = 0.0;  ///< mm
};

/// A log found in a scan, and what was found about it, mm in the frame of the points.
struct FoundLog {
  std::vector<PointLabel> labels;  ///< of each point
  std::optional<Eigen::Vector3d>
      ground_up;          ///< square to the ground, away from it; empty without ground
  double length = 0.0;    ///< between the middles of the ends
  double diameter = 0.0;  ///< mean
  double thick_end = 0.0, thin_end = 0.0;  ///< diameters at the ends
  bool upright = false;                    ///< stands or hangs, where it is known which way is up
  std::vector<OpenEnd> open_ends;          ///< those without a face
  std::vector<OtherLog> others;
  std::optional<Fork> fork;
};

/// What a scan without a log holds, in words for the person; or the log.
struct SearchResult {
  std::optional<FoundLog> log;
  std::string instead;
  bool on_its_flat = false;  ///< the log is half of one and lies on its flat side, which nobody saw
};

/// `near`: of several logs the one nearest to this point.
SearchResult search_log(const Points& points, const std::optional<Eigen::Vector3d>& up,
                        const std::optional<Eigen::Vector3d>& near);

}  // namespace kerfwright
