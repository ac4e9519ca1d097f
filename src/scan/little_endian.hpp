#pragma once

#include <algorithm>
#include <array>
#include <bit>
#include <cstring>
#include <string_view>

namespace kerfwright {

/// The number that begins at a byte, its bytes in this machine's order or in the reversed one; the
/// caller has made sure that it is wholly there.
template <typename T, bool reversed>
T number_at(const char* bytes) {
  std::array<char, sizeof(T)> raw;
  std::memcpy(raw.data(), bytes, sizeof(T));
  if constexpr (reversed) std::reverse(raw.begin(), raw.end());
  return std::bit_cast<T>(raw);
}

/// The number that stands `at` bytes into `bytes`, its lowest byte first; likewise.
template <typename T>
T little_endian(std::string_view bytes, std::size_t at) {
  return number_at<T, std::endian::native == std::endian::big>(bytes.data() + at);
}

}  // namespace kerfwright
