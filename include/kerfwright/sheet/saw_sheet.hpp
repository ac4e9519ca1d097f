#pragma once

#include <string>

#include "kerfwright/saw/saw_plan.hpp"
#include "kerfwright/shape/log_shape.hpp"

namespace kerfwright {

/// The sheet that lies beside the saw, as the text of one HTML file that needs nothing else: how to
/// lay the log, each cut, edging, cross-cuts and the stack.
std::string saw_sheet_html(const SawPlan& plan, const LogShape& shape);

}  // namespace kerfwright
