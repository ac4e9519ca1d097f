#pragma once

#include <CLI/CLI.hpp>
#include <functional>
#include <memory>
#include <string>

namespace kerfwright::cli {

/// What a command line asks for; returns the exit code.
/// @throws UserError
using Action = std::function<int()>;

/// Adds every command with its options to `app`; parsing then sets `action`. The manual and the
/// shell's completion are written from the same `app`.
void add_commands(CLI::App& app, Action& action);

/// What to say of a first word that names no command; empty where it names one or is an option.
std::string of_no_command(const CLI::App& app, const std::string& word);

/// Lets a command run with what its options hold once the line is parsed.
template <class Options>
void run_with(CLI::App* command, const std::shared_ptr<Options>& options, Action& action,
              int (*run)(const Options&)) {
  command->callback([options, &action, run] { action = [options, run] { return run(*options); }; });
}

/// The program's own words about itself.
extern const char* const about;

}  // namespace kerfwright::cli
