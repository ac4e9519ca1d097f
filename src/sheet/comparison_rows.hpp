#pragma once

#include <string>
#include <vector>

#include "kerfwright/sheet/comparison.hpp"
#include "lengths.hpp"

namespace kerfwright::sheet {

/// How lengths are told for all ways: as the best way's mill shows them.
Lengths lengths_of(const std::vector<Way>& ways);

/// The heads of a comparison's columns of figures.
std::vector<std::string> comparison_heads(const std::vector<Way>& ways);

/// The figures of one plan under those heads.
std::vector<std::string> comparison_cells(const std::vector<Way>& ways, const SawPlan& plan);

/// The same for a program: members of a JSON object, what is not known left out.
std::vector<std::string> figure_members(const SawPlan& plan);

/// Why there is no plan, with lengths told as all are.
std::string why_not_words(const Way& way, const Lengths& lengths);

}  // namespace kerfwright::sheet
