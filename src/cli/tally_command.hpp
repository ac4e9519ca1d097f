#pragma once

#include <string>

#include "command_line.hpp"
#include "kerfwright/archive/archive.hpp"
#include "kerfwright/archive/tally.hpp"

namespace kerfwright::cli {

struct TallyOptions {
  std::string plan, tally;  ///< both empty: only what all tallies of the archive say
  std::string archive;
  bool inches = false;  ///< lengths are told in inches
};

/// Adds `tally`.
void add_tally(CLI::App& app, Action& action);

int run_tally(const TallyOptions& options);

/// The mill as the tallies of the archive say it is; prints what it changed unless `quiet`.
/// @throws UserError no_file where there is no archive
Mill mill_of_tallies(const Mill& mill, const std::string& archive, bool quiet);

}  // namespace kerfwright::cli
