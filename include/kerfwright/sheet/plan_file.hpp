#pragma once

#include <string>

#include "kerfwright/saw/saw_plan.hpp"

namespace kerfwright {

/// The plan as the text of its file (JSON, kerfwright-plan version 1).
std::string plan_to_json(const SawPlan& plan);

/// Reads a plan from the text of its file; `name` stands for the file in messages.
/// @throws UserError bad_plan
SawPlan plan_from_json(const std::string& text, const std::string& name);

}  // namespace kerfwright
