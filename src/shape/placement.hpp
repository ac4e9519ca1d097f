#pragma once

#include <Eigen/Core>
#include <Eigen/Geometry>
#include <algorithm>
#include <string>
#include <vector>

#include "ends.hpp"
#include "kerfwright/scan/scan.hpp"
#include "spine.hpp"

namespace kerfwright {

/// Where the log lies: the frame of its chord and a first idea of its form, enough to tell bark
/// from end faces and to have a middle to measure radii from.
struct Placement {
  Eigen::Isometry3d scan_to_log = Eigen::Isometry3d::Identity();  ///< mm to mm
  Eigen::Vector3d up{0, 0, 1};                                    ///< in the scan's frame
  Spine spine;                                                    ///< in the log's frame
  EndFace butt, top;                                              ///< in the log's frame
  double length = 0;  ///< mm of whole log between the faces, along the chord
  std::vector<std::string> notes;
};

/// Finds the long axis, the ends and the frame of the contract.
/// @throws UserError no_log where the points carry no axis
Placement place_log(const Scan& log);

/// Moves the frame to where the spine and the ends say: origin at the butt's centre, x to the top's
/// centre. Where the top is thicker, the ends change places.
void settle(Placement& placement);

/// mm between the knots of the spine once the stem is known without its burls.
inline double spine_step(double length) { return std::clamp(length / 8.0, 150.0, 400.0); }

/// Whether a point of the log's frame lies on bark, not on a scanned end face, and not far beyond
/// an end.
bool on_bark(const Placement& placement, const Eigen::Vector3d& point);

}  // namespace kerfwright
