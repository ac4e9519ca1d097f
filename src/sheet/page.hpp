#pragma once

#include <string>

#include "kerfwright/saw/saw_plan.hpp"

namespace kerfwright::sheet {

/// A drawing as the text of an SVG file, one sheet of A4 upright, 1 user unit = 1 mm of paper.
std::string a4_svg(const std::string& title, const SawPlan& plan, const std::string& body);

}  // namespace kerfwright::sheet
