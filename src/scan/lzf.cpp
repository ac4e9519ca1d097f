#include "lzf.hpp"

namespace kerfwright {

std::optional<std::string> unpack_lzf(std::string_view packed, std::size_t size) {
  std::string out;
  out.reserve(size);
  std::size_t at = 0;
  const auto next = [&] {
    return static_cast<std::size_t>(static_cast<unsigned char>(packed[at++]));
  };
  while (at < packed.size()) {
    const std::size_t control = next();
    if (control < 32) {
      const std::size_t run = control + 1;
      if (run > packed.size() - at || run > size - out.size()) return std::nullopt;
      out.append(packed, at, run);
      at += run;
      continue;
    }
    std::size_t length = control >> 5;
    if (packed.size() - at < (length == 7 ? 2U : 1U)) return std::nullopt;
    if (length == 7) length += next();
    length += 2;
    const std::size_t back = ((control & 31U) << 8) + next() + 1;
    if (back > out.size() || length > size - out.size()) return std::nullopt;
    // Byte by byte, since what is taken may reach into what it makes.
    for (std::size_t i = 0; i < length; ++i) out += out[out.size() - back];
  }
  if (out.size() != size) return std::nullopt;
  return out;
}

}  // namespace kerfwright
