#pragma once

#include <array>
#include <bit>
#include <cstring>
#include <string_view>
#include <utility>

namespace kerfwright {

/// The number that stands `at` bytes into `bytes`, its lowest byte first; the caller has made sure
/// that it is wholly there.
template <typename T>
T little_endian(std::string_view bytes, std::size_t at) {
  std::array<char, sizeof(T)> raw;
  std::memcpy(raw.data(), bytes.data() + at, sizeof(T));
  if constexpr (std::endian::native == std::endian::big)
    for (std::size_t i = 0; i < sizeof(T) / 2; ++i) std::swap(raw[i], raw[sizeof(T) - 1 - i]);
  return std::bit_cast<T>(raw);
}

}  // namespace kerfwright
