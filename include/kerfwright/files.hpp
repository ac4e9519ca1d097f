#pragma once

#include <string>
#include <string_view>
#include <vector>

namespace kerfwright {

/// The whole of a file of at most 8 GB.
/// @throws UserError no_file, empty_file
std::string read_file(const std::string& path);

/// Writes to a temporary name beside `path`, flushes it to the disk and renames it, so that a file
/// of this name is whole or absent.
/// @throws UserError cannot_write
void write_file(const std::string& path, std::string_view text);

struct FileText {
  std::string path, text;
};

/// Writes files that belong together: all lie whole under temporary names before the first gets its
/// own, so that a full disk changes nothing. What had these names, and what is `outdated`, is taken
/// away before, so that after a kill no old file lies beside new ones: the last file first, which
/// also comes last, so that a file that names others belongs at the end.
/// @param outdated files that need not be there
/// @throws UserError cannot_write
void write_together(const std::vector<FileText>& files, const std::vector<std::string>& outdated);

/// SHA-256 (FIPS 180-4) of bytes, 64 hexadecimal digits.
std::string sha256_hex(std::string_view bytes);

}  // namespace kerfwright
