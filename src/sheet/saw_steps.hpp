#pragma once

#include <map>
#include <memory>
#include <string>
#include <vector>

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
  std::map<std::string, std::vector<AcrossCut>> across;  ///< by flitch, as it came off the mill
};

/// Without the tape distances of the flitches, which take most of the time.
Steps told_stages(const SawPlan& plan, const LogShape& shape);

Steps told_steps(const SawPlan& plan, const LogShape& shape);

}  // namespace kerfwright::sheet
