#pragma once

#include <Eigen/Core>
#include <cstdint>
#include <optional>
#include <string>
#include <vector>

namespace kerfwright {

/// Where points came from.
struct ScanSource {
  std::string file;          ///< name of the file, without its folders
  std::string sha256;        ///< of the bytes of the file itself, not of a .bin that a glTF has
                             ///< beside it; 64 hexadecimal digits
  std::uint64_t points = 0;  ///< points in the file
};

/// A cloud of points in millimetres, in a frame of its own: the file's axes, scaled to millimetres
/// and shifted so that the numbers stay small (surveyed coordinates would not survive in float).
struct Scan {
  std::vector<Eigen::Vector3f> points;                         ///< mm
  Eigen::Matrix4d file_to_scan = Eigen::Matrix4d::Identity();  ///< takes a point of the file, in
                                                               ///< the file's unit, to this frame
  bool unit_guessed = false;  ///< the scale is a guess, which the size of the log may overrule
  std::optional<Eigen::Vector3d> up;  ///< unit vector; empty where nothing says which way is up
  ScanSource source;
  std::vector<std::string>
      notes;  ///< what was assumed or taken away, a sentence each, for the person
};

}  // namespace kerfwright
