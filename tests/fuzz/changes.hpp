#pragma once

#include <cstdint>
#include <string>

namespace kerfwright::fuzz {

/// A sound file spoilt in one to four places: bits, bytes, numbers, and stretches that are doubled,
/// left out, moved or taken from another file.
/// @param seed which change; the same gives the same bytes on every machine
std::string changed(const std::string& bytes, const std::string& other, std::uint64_t seed);

}  // namespace kerfwright::fuzz
