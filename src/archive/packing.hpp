#pragma once

#include <cstdint>
#include <string>
#include <string_view>

namespace kerfwright::archive {

/// The largest file that is kept, bytes; SQLite itself takes no blob of 1e9 bytes.
inline constexpr std::uint64_t largest_file = 900'000'000;

/// Bytes packed with zstd.
std::string pack(std::string_view bytes);

/// The bytes again; `size` is what they must come to.
/// @throws std::runtime_error where they do not
std::string unpack(std::string_view packed, std::uint64_t size);

}  // namespace kerfwright::archive
