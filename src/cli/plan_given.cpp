#include "plan_given.hpp"

#include <filesystem>

#include "kerfwright/error.hpp"
#include "kerfwright/files.hpp"
#include "kerfwright/sheet/plan_file.hpp"
#include "kerfwright/sheet/shape_file.hpp"

namespace kerfwright::cli {

namespace fs = std::filesystem;

std::string plan_file(const std::string& given) {
  std::error_code error;
  if (!fs::is_directory(given, error)) return given;
  const fs::path within = fs::path(given) / "plan.json";
  if (fs::exists(within, error)) return within.string();
  throw UserError(Fault::no_file, "The folder '" + given +
                                      "' holds no plan.json: give the plan's file, or the folder "
                                      "that 'kerfwright plan' wrote it to.");
}

PlanOnShape read_plan_and_shape(const std::string& given_plan, const std::string& given_shape) {
  const std::string file = plan_file(given_plan);
  const auto beside = fs::path(file).parent_path() / "shape.json";
  const std::string shape_file = given_shape.empty() ? beside.string() : given_shape;
  SawPlan plan = plan_from_json(read_file(file), file);
  const std::string shape_text = read_file(shape_file);
  LogShape shape = shape_from_json(shape_text, shape_file);
  const bool its_own = plan.shape_sha256 == sha256_hex(shape_text);
  return {std::move(plan), std::move(shape), shape_file, its_own};
}

PlanOnShape read_plan_on_shape(const std::string& given_plan, const std::string& given_shape) {
  PlanOnShape read = read_plan_and_shape(given_plan, given_shape);
  if (read.its_own) return read;
  throw UserError(Fault::bad_plan, "The plan '" + plan_file(given_plan) +
                                       "' was made on another shape than '" + read.shape_file +
                                       "'; give its own with --shape.");
}

}  // namespace kerfwright::cli
