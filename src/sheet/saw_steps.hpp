#pragma once

#include <memory>

#include "kerfwright/sheet/saw_steps.hpp"
#include "lane_steps.hpp"
#include "stages.hpp"

namespace kerfwright::sheet {

/// The steps with what they were told from: the plan as it is sawn with them, and its flitches.
struct Steps {
  SawSteps steps;
  std::unique_ptr<Told> told;
  std::vector<Group> groups;
  std::vector<Flitch> flitches;
};
Steps told_steps(const SawPlan& plan, const LogShape& shape);

}  // namespace kerfwright::sheet
