#pragma once

#include <string>
#include <vector>

#include "kerfwright/saw/saw_plan.hpp"
#include "kerfwright/shape/log_shape.hpp"

namespace kerfwright {

/// What `measure` tells, for programs: keys as in LogMeasures, lengths in mm, volumes in m3, notes
/// as sentences.
std::string measures_json(const LogShape& shape);

/// What `plan` tells, for programs: the figures of a comparison's row, the notes, and the files
/// that were written.
std::string plan_figures_json(const SawPlan& plan, const LogShape& shape,
                              const std::vector<std::string>& files);

}  // namespace kerfwright
