#include "number_type.hpp"

#include <bit>
#include <cstdint>

#include "little_endian.hpp"

namespace kerfwright {
namespace {

template <typename T, bool reversed>
double value_at(const char* bytes) {
  return static_cast<double>(number_at<T, reversed>(bytes));
}

template <bool reversed>
NumberReader reader(NumberType type) {
  using Kind = NumberType::Kind;
  const bool has_sign = type.kind == Kind::signed_whole;
  if (type.kind == Kind::real)
    return type.bytes == 4   ? value_at<float, reversed>
           : type.bytes == 8 ? value_at<double, reversed>
                             : nullptr;
  switch (type.bytes) {
    case 1:
      return has_sign ? value_at<std::int8_t, reversed> : value_at<std::uint8_t, reversed>;
    case 2:
      return has_sign ? value_at<std::int16_t, reversed> : value_at<std::uint16_t, reversed>;
    case 4:
      return has_sign ? value_at<std::int32_t, reversed> : value_at<std::uint32_t, reversed>;
    case 8:
      return has_sign ? value_at<std::int64_t, reversed> : value_at<std::uint64_t, reversed>;
    default:
      return nullptr;
  }
}

}  // namespace

std::optional<NumberReader> reader_of(NumberType type, bool big_endian) {
  const bool reversed = big_endian != (std::endian::native == std::endian::big);
  const NumberReader found = reversed ? reader<true>(type) : reader<false>(type);
  if (found == nullptr) return std::nullopt;
  return found;
}

}  // namespace kerfwright
