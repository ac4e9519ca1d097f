#pragma once

#include <string>
#include <string_view>

namespace kerfwright {

/// The whole of a file.
/// @throws UserError no_file, empty_file
std::string read_file(const std::string& path);

/// Writes to a temporary name beside `path`, flushes it to the disk and renames it, so that a file of this
/// name is whole or absent.
/// @throws UserError cannot_write
void write_file(const std::string& path, std::string_view text);

/// SHA-256 (FIPS 180-4) of bytes, 64 hexadecimal digits.
std::string sha256_hex(std::string_view bytes);

}  // namespace kerfwright
