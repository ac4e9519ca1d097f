#pragma once

#include <CLI/CLI.hpp>
#include <string>

namespace kerfwright::cli {

/// The manual page (troff, section 1) of a program with subcommands, from what its help says.
std::string manual_page(const CLI::App& app, const std::string& version);

/// A completion for bash: commands, their options, and the values of options that have a list of
/// them; files everywhere else.
std::string bash_completion(const CLI::App& app);

}  // namespace kerfwright::cli
