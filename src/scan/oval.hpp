#pragma once

#include <Eigen/Core>
#include <vector>

#include "rough_axis.hpp"
#include "survey.hpp"

namespace kerfwright {

/// Sections far from round, as a wide stem, one below a crotch or half a log have them: what they
/// lie about, and across what they are flat.
struct Oval {
  Eigen::Vector3d middle;       ///< mm
  Eigen::Vector3d along, flat;  ///< unit vectors: the log's run; across it, where it is narrowest
  double ratio = 1.0;           ///< width over height
  double score = 0.0;

  /// Stretches space along `flat` and squeezes it across, so that sections become round, as large
  /// as they were; nothing changes along the log.
  Eigen::Matrix3d rounding() const;
};

/// Ovals that a few sections of the yard's things follow, and follow much better than circles, the
/// best first. `axes`: what was found to be round; a part of an oval often is.
std::vector<Oval> find_ovals(const Yard& yard, const std::vector<RoughAxis>& axes);

/// Whether a thing that runs `along` is faced by planes square to each other, as a beam is, and not
/// by bark.
bool is_square(const Points& thing, const Eigen::Vector3d& along);

}  // namespace kerfwright
