#pragma once

#include <string>
#include <vector>

#include "kerfwright/shape/log_shape.hpp"
#include "placement.hpp"
#include "surface_fit.hpp"

namespace kerfwright {

/// What was assumed in fitting and what the person should look at or scan again, a sentence each.
std::vector<std::string> notes_on(const LogShape& shape, const Placement& placement,
                                  const FittedSurface& surface);

}  // namespace kerfwright
