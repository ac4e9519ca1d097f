#pragma once

#include <optional>
#include <string>
#include <vector>

#include "command_line.hpp"
#include "commands.hpp"
#include "kerfwright/archive/archive.hpp"

namespace kerfwright::cli {

struct ArchiveAddOptions {
  ScanOptions scan;  ///< its `archive` says where
  LogCard card;
  std::vector<std::string> pictures;  ///< files
  bool whole = false;                 ///< the scan's file as it is
  bool again = false;                 ///< even where the archive seems to have the log
};

struct ArchiveFindOptions {
  std::string archive;
  LogQuery query;
  bool json = false;
  bool inches = false;  ///< lengths are told in inches
};

/// Commands that take names of logs.
struct ArchiveNamesOptions {
  std::string archive;
  std::vector<std::string> names;
  bool undo = false;    ///< remove: take it back out of the bin
  std::string drawing;  ///< show: file of an SVG; empty = none
  bool inches = false;  ///< show: lengths are told in inches
};

/// What is to be written of a log from now on; what is empty stays.
struct ArchiveChangeOptions {
  std::string archive, name;
  std::optional<std::string> new_name, species, place, felled, note;
  std::optional<double> moisture;
  std::vector<std::string> pictures;  ///< files, to be added
};

struct ArchiveExportOptions {
  std::string archive, name, out;
  bool all = false;
};

struct ArchiveImportOptions {
  std::string archive, name;
  std::vector<std::string> folders;
  bool again = false;
};

/// Adds `archive` with its own commands.
void add_archive(CLI::App& app, Action& action);

int run_archive_add(const ArchiveAddOptions& options);
int run_archive_find(const ArchiveFindOptions& options);
int run_archive_show(const ArchiveNamesOptions& options);
int run_archive_change(const ArchiveChangeOptions& options);
int run_archive_export(const ArchiveExportOptions& options);
int run_archive_import(const ArchiveImportOptions& options);
int run_archive_remove(const ArchiveNamesOptions& options);
int run_archive_empty_bin(const std::string& archive);
int run_archive_check(const std::string& archive);

/// Logs as a table for a person, one a line; lengths in mm or inches.
std::string log_table(const std::vector<KeptLog>& logs, bool inches);

}  // namespace kerfwright::cli
