#pragma once

#include <optional>
#include <string>
#include <vector>

#include "ground.hpp"
#include "log_ends.hpp"
#include "rough_axis.hpp"
#include "wood_cells.hpp"

namespace kerfwright {

/// A log found in a scan, and what was found about it.
struct FoundLog {
  std::vector<std::uint32_t> wood;  ///< points of the scan that are the log's, increasing
  std::optional<Eigen::Vector3d>
      ground_up;                   ///< square to the ground, away from it; empty without ground
  std::size_t ground_points = 0;   ///< of the scan
  double length = 0.0;             ///< mm, between the middles of the ends
  double diameter = 0.0;           ///< mm, mean
  double girth = 0.0;              ///< share of the surface that was seen
  double roundness = 0.0;          ///< share of that which faces away from the axis
  double bulge = 0.0;              ///< points close before the end faces, per point on them
  bool faces[2] = {false, false};  ///< end faces were found
  int other_logs = 0;
};

/// What a scan without a log holds, in words for the person; or the log.
struct SearchResult {
  std::optional<FoundLog> log;
  std::string instead;
};

SearchResult search_log(const Points& points, const std::optional<Eigen::Vector3d>& up);

}  // namespace kerfwright
