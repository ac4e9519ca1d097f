#pragma once

#include <string>

#include "kerfwright/saw/saw_plan.hpp"
#include "kerfwright/shape/log_shape.hpp"

namespace kerfwright {

/// A template for the butt end at 1:1, as the text of one HTML file: pages that print on A4 and
/// Letter alike, to be trimmed, joined at their crosses and glued on the butt. Bark outline, pith,
/// plumb line, the first cut of each setup, and on every page a bar of 100 mm to check the printer.
std::string template_html(const SawPlan& plan, const LogShape& shape);

}  // namespace kerfwright
