#pragma once

#include <string>
#include <vector>

#include "kerfwright/sheet/comparison.hpp"

namespace kerfwright::sheet {

/// The heads of a comparison's columns of figures.
std::vector<std::string> comparison_heads(const std::vector<Way>& ways);

/// The figures of one plan under those heads.
std::vector<std::string> comparison_cells(const std::vector<Way>& ways, const SawPlan& plan);

/// The same for a program: members of a JSON object, what is not known left out.
std::vector<std::string> figure_members(const SawPlan& plan);

}  // namespace kerfwright::sheet
