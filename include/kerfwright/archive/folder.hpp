#pragma once

#include <string>

#include "kerfwright/archive/archive.hpp"

namespace kerfwright {

/// Writes a log to a folder that needs no program to read: its files as they are, and `log.json`
/// with what was written of it and the SHA-256 of each file. The folder is whole or absent.
/// @throws UserError cannot_write, also where the folder has something in it
void export_log(const Archive& archive, const KeptLog& log, const std::string& folder);

/// Reads such a folder. Nothing outside it is read: names with a path and links are refused.
/// @throws UserError no_file, bad_archive
NewLog read_log_folder(const std::string& folder);

}  // namespace kerfwright
