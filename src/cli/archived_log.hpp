#pragma once

#include <string>

#include "commands.hpp"
#include "kerfwright/archive/archive.hpp"

namespace kerfwright::cli {

/// Whether archive:NAME stands in the place of a scan.
bool is_archived(const std::string& scan);

/// The archive at that place, or at the usual one where the place is empty.
Archive open_archive(const std::string& place, Archive::Access access);

/// The shape of archive:NAME.
LogShape archived_shape(const ScanOptions& options);

/// The species that was given, else that of archive:NAME where a table lists it; else empty.
std::string species_of(const ScanOptions& options);

/// Keeps a plan of archive:NAME beside its shape, unless it was made on another shape than that.
/// @returns a line that says so; empty for a scan that is none of the archive's
std::string keep_plan(const ScanOptions& options, const std::string& shape_sha256,
                      const std::string& plan);

}  // namespace kerfwright::cli
