#pragma once

#include <CLI/CLI.hpp>
#include <optional>
#include <string>

#include "commands.hpp"

namespace kerfwright::cli {

/// Words of the command line that say how a scan is to be read, before they are understood.
struct ScanFlags {
  std::string unit, up, near;
  std::optional<double> bark;
};

/// What may hold for many scans at once: unit, up, bark and species.
void add_common_scan_options(CLI::App* command, ScanOptions& options, ScanFlags& flags);

/// Everything that says how a scan is to be read.
void add_scan_options(CLI::App* command, ScanOptions& options, ScanFlags& flags);

/// Understands the words.
/// @throws UserError
void finish(ScanOptions& options, const ScanFlags& flags);

/// The group of options that have to do with the archive.
constexpr const char* archive_group = "The archive";

/// Where the archive lies.
void add_archive_option(CLI::App* command, std::string& archive);

}  // namespace kerfwright::cli
