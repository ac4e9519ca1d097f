#pragma once

#include <CLI/CLI.hpp>
#include <optional>
#include <string>
#include <vector>

#include "kerfwright/saw/plan_log.hpp"

/// Options that several commands have, each written once.
namespace kerfwright::cli {

void add_json(CLI::App* command, bool& json);

/// Seconds that a search may take.
void add_time(CLI::App* command, std::optional<double>& seconds);

/// How near to the best a plan is to be proven.
void add_gap(CLI::App* command, std::optional<double>& gap);

/// How widely a plan is sought.
void add_step_options(CLI::App* command, PlanSettings& settings);

/// How widely and among what a plan is sought.
void add_search_options(CLI::App* command, PlanSettings& settings,
                        std::vector<std::string>& patterns);

std::vector<Pattern> patterns_named(const std::vector<std::string>& names);

}  // namespace kerfwright::cli
