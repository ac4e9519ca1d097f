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
  bool its_own = true;  ///< whether the plan was made on this shape
};

/// A plan, by its file or its folder, and a shape; an empty name of a shape: the file beside the
/// plan.
PlanOnShape read_plan_and_shape(const std::string& given_plan, const std::string& given_shape);

/// The same where the shape has to be that which the plan was made on.
/// @throws UserError bad_plan where it was made on another
PlanOnShape read_plan_on_shape(const std::string& given_plan, const std::string& given_shape);

}  // namespace kerfwright::cli
