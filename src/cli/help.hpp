#pragma once

#include <CLI/CLI.hpp>
#include <string>
#include <vector>

/// What the screen and the manual say of commands and their options.
namespace kerfwright::cli {

/// Lets a program and all commands that it gets afterwards tell their help in this way: `--help` in
/// a screen of 80 columns, without the options that stand in a group of their own; `--help-all`
/// with them.
void tell_help(CLI::App& app);

/// Gives options a group of their own, which `--help` only names.
void put_aside(const std::string& group, const std::vector<CLI::Option*>& options);

/// "kerfwright plan SCAN --order FILE --out FOLDER [options]".
std::string usage(const CLI::App& command);

/// The groups of options that were put aside.
std::vector<std::string> groups_of(const CLI::App& command);

/// The options of a group, what has its place on the line first, without those for help.
/// @param group empty: those that are in none
std::vector<const CLI::Option*> options_in(const CLI::App& command, const std::string& group);

/// "--mill FILE", or "SCAN" for what has its place on the line.
std::string head_of(const CLI::Option& option);

/// What an option takes, as "MM" or "m, cm or mm"; empty for a flag.
std::string takes(const CLI::Option& option);

/// What an option is for, with its range and what it is where it is not given.
std::string told_in_full(const CLI::Option& option);

/// "archive add" for a command of a command; the program itself has no name here.
std::string full_name(const CLI::App& command);

/// The commands of a program or of a command, in their order.
std::vector<const CLI::App*> commands_of(const CLI::App& app);

/// "kerfwright archive add" for words of a command line that begin with "archive add".
std::string called(const CLI::App& app, const std::vector<std::string>& words);

/// A number from `low` to `high`, told as such.
CLI::Validator number_from(double low, double high);

/// One of a few words.
CLI::Validator one_of(const std::vector<std::string>& words);

}  // namespace kerfwright::cli
