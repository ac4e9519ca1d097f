#pragma once

#include <string>

#include "kerfwright/saw/saw_plan.hpp"
#include "kerfwright/shape/log_shape.hpp"

namespace kerfwright {

/// The cut map as the text of an SVG file: one A4 sheet, 1 user unit = 1 mm of paper.
std::string cut_map_svg(const SawPlan& plan, const LogShape& shape);

}  // namespace kerfwright
