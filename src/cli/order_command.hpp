#pragma once

#include <optional>
#include <string>
#include <vector>

#include "command_line.hpp"
#include "commands.hpp"
#include "kerfwright/yard/yard_plan.hpp"

namespace kerfwright::cli {

struct OrderOptions {
  std::string order;
  std::vector<std::string> logs;  ///< scans, shapes or archive:NAME
  std::string mill, out;
  ScanOptions scan;               ///< what holds for all logs; its file is not used
  std::vector<std::string> sawn;  ///< plan and tally of each log that is sawn, by turns
  YardSettings settings;
  std::optional<double> seconds;  ///< that the search may take
  bool json = false;              ///< for a program: JSON on standard output
};

/// Adds `order`.
void add_order(CLI::App& app, Action& action);

/// @throws UserError
int run_order(const OrderOptions& options);

}  // namespace kerfwright::cli
