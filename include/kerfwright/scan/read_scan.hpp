#pragma once

#include <optional>
#include <string>

#include "kerfwright/scan/scan.hpp"

namespace kerfwright {

enum class LengthUnit { metre, centimetre, millimetre };

struct ReadSettings {
  std::optional<LengthUnit>
      unit;  ///< unit of the file; empty = guessed from the size of what is in it
  std::optional<double> log_length;  ///< mm, the taped length of the log; sets the scale of a cloud
                                     ///< that has none (applied once the log is found)
  std::optional<Eigen::Vector3d> up;  ///< unit vector in the file's axes; empty = from the ground
};

/// Reads a scan: PLY and PCD (through PCL), LAS 1.0 to 1.4, OBJ, STL and glTF 2.0 (through Assimp)
/// and plain text with x y z in its first three columns or in those that a line of names gives.
/// Headers are checked against the file's size before anything believes them. A mesh becomes points
/// spread evenly over its area. Doubles stay doubles until they are shifted to small numbers. Which
/// of them it is says the content, then the ending of the name.
/// @throws UserError no_file, empty_file, unknown_format, damaged_file, bad_coordinates
Scan read_scan(const std::string& path, const ReadSettings& settings);

}  // namespace kerfwright
