#pragma once

#include <string>

#include "kerfwright/saw/saw_plan.hpp"
#include "kerfwright/shape/log_shape.hpp"

namespace kerfwright::cli {

/// The file of a plan that a person named, who may name the folder that holds it as well.
/// @throws UserError no_file for a folder without a plan
std::string plan_file(const std::string& given);

struct PlanOnShape {
  SawPlan plan;
  LogShape shape;
  std::string shape_file;
};

/// A plan, by its file or its folder, with the shape that it was made on; an empty name of a shape:
/// the file beside the plan.
/// @throws UserError bad_plan where it was made on another
PlanOnShape read_plan_on_shape(const std::string& given_plan, const std::string& given_shape);

}  // namespace kerfwright::cli
