#pragma once

#include <CLI/CLI.hpp>
#include <functional>

namespace kerfwright::cli {

/// What a command line asks for; returns the exit code.
/// @throws UserError
using Action = std::function<int()>;

/// Adds every command with its options to `app`; parsing then sets `action`. The manual and the
/// shell's completion are written from the same `app`.
void add_commands(CLI::App& app, Action& action);

/// The program's own words about itself.
extern const char* const about;

}  // namespace kerfwright::cli
