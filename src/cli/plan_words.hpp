#pragma once

#include <string>

#include "kerfwright/saw/plan_log.hpp"

namespace kerfwright::cli {

/// Prints what a plan gives and how its first face is opened, with the numbers of the sheet.
/// @param asked the order as it was read, whose sizes may come out larger
/// @param ended_early a sentence why the search was ended early, empty where it was not
void print_plan(const SawPlan& plan, const LogShape& shape, const Order& asked,
                const PlanSettings& settings, const std::string& ended_early);

}  // namespace kerfwright::cli
