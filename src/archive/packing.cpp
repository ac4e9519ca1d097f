#include "packing.hpp"

#include <zstd.h>

#include <stdexcept>

#include "kerfwright/error.hpp"

namespace kerfwright::archive {

std::string pack(std::string_view bytes) {
  // Level 9: shapes come out a seventh larger than at 19, in a sixth of the time.
  constexpr int level = 9;
  std::string packed(ZSTD_compressBound(bytes.size()), '\0');
  const std::size_t size =
      ZSTD_compress(packed.data(), packed.size(), bytes.data(), bytes.size(), level);
  if (ZSTD_isError(size) != 0)
    throw UserError(Fault::internal, std::string("Packing failed: ") + ZSTD_getErrorName(size));
  packed.resize(size);
  return packed;
}

std::string unpack(std::string_view packed, std::uint64_t size) {
  // Asked before any memory is taken: a damaged size must not ask for all there is.
  if (size > largest_file || ZSTD_getFrameContentSize(packed.data(), packed.size()) != size)
    throw std::runtime_error("its size is not the one that was written down");
  std::string bytes(size, '\0');
  const std::size_t got = ZSTD_decompress(bytes.data(), bytes.size(), packed.data(), packed.size());
  if (ZSTD_isError(got) != 0 || got != size) throw std::runtime_error("it cannot be unpacked");
  return bytes;
}

}  // namespace kerfwright::archive
