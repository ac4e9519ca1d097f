#pragma once

#include <string>

#include "command_line.hpp"
#include "kerfwright/yard/need.hpp"

namespace kerfwright::cli {

struct NeedOptions {
  std::string order, mill;
  std::string species;  ///< empty = that of the order, if any
  NeedSettings settings;
  bool inches = false;  ///< lengths are told in inches, whatever the mill's file says
  bool json = false;    ///< for a program: JSON on standard output
};

/// Adds `need`.
void add_need(CLI::App& app, Action& action);

/// @throws UserError
int run_need(const NeedOptions& options);

}  // namespace kerfwright::cli
