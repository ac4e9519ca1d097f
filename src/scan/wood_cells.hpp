#pragma once

#include <functional>
#include <optional>
#include <vector>

#include "ground.hpp"
#include "log_ends.hpp"
#include "log_frame.hpp"
#include "rough_surface.hpp"

namespace kerfwright {

/// What a point near the log was taken for.
enum class Part : unsigned char { bark, face, ground, foreign, stray, fork };

struct WoodInput {
  const Points& points;  ///< of the scan
  const Unwrapped& near;
  const LogFrame& frame;
  const LogEnds& ends;
  const RoughSurface& surface;
  const std::optional<Ground>& ground;
  const std::vector<unsigned char>& fork;  ///< of near: points of a second stem; may be empty
};

/// Tells wood from what touches it. Points near the surface are wood. What stands out from it is
/// followed from cell to cell: a bump that stays within half a radius or so is a burl, what leads
/// away or stands on the ground is something else, and round about its foot only points close to
/// the surface are wood.
std::vector<Part> part_points(const WoodInput& input);

}  // namespace kerfwright
