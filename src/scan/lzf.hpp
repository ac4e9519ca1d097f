#pragma once

#include <cstddef>
#include <optional>
#include <string>
#include <string_view>

namespace kerfwright {

/// Unpacks LZF, as the compressed body of a PCD is packed: a byte below 32 is followed by one more
/// bytes than it says, to be taken as they are; any other says with the next one (or two, where its
/// upper three bits are all set) how much to take again of what came out before, and from how far
/// back.
/// @returns nothing where the bytes do not come to exactly `size`
std::optional<std::string> unpack_lzf(std::string_view packed, std::size_t size);

}  // namespace kerfwright
