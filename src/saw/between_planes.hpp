#pragma once

#include <Eigen/Core>
#include <cmath>
#include <optional>
#include <vector>

#include "lanes.hpp"
#include "setting_errors.hpp"
#include "wood.hpp"

namespace kerfwright::saw {

/// A flitch as it was sawn: what lies between two faces that need not be quite parallel.
struct FlitchPlanes {
  Pose pose;                            ///< in which its lower face is level
  double low_butt = 0, low_rise = 0;    ///< its lower face in a section at x: butt + rise x, mm
  double high_butt = 0, high_rise = 0;  ///< likewise its upper face
  double lean = 0;                      ///< of sawn faces beside it, lateral mm per mm along
  std::optional<double> left, right;    ///< mm, where those stand at the butt
};

/// The upward direction of a section that lies turned by `roll`.
inline Eigen::Vector3d section_up(double roll) { return {0.0, std::sin(roll), std::cos(roll)}; }

/// The clear wood of flitches of one roll, with the marks and the pith that are in them.
/// @param drawn the surface that is sawn, with the stations of `shape`
/// @param wood the cells of the shape, its pith and marks
/// @param classes [flitch]
std::vector<FlitchWood> woods_between(const LogShape& shape, const DrawnWood& drawn,
                                      const Wood& wood, const Catalogue& catalogue,
                                      const std::vector<FlitchPlanes>& flitches,
                                      const std::vector<const FlitchClass*>& classes);

}  // namespace kerfwright::saw
