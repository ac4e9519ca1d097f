#pragma once

#include <string>
#include <vector>

#include "kerfwright/saw/saw_plan.hpp"
#include "kerfwright/shape/log_shape.hpp"

namespace kerfwright {

/// A drawing of its own for one setup.
struct SetupMap {
  std::string name;  ///< such as "setup-2", not used twice
  std::string svg;   ///< one A4 sheet, 1 user unit = 1 mm of paper
};

/// A cut map for each piece on the mill in each setup: how it lies, its sections at butt, middle
/// and top with the cuts of that setup, and their heights.
std::vector<SetupMap> setup_maps(const SawPlan& plan, const LogShape& shape);

}  // namespace kerfwright
