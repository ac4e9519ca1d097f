#pragma once

#include <cstddef>
#include <optional>

namespace kerfwright {

/// How a number lies in a file's table of points.
struct NumberType {
  enum class Kind { signed_whole, unsigned_whole, real };
  Kind kind = Kind::real;
  std::size_t bytes = 4;
};

/// Takes the number that begins at a byte; the caller has made sure that it is wholly there.
using NumberReader = double (*)(const char*);

/// @returns nothing where no such number is known, as a real of one byte
std::optional<NumberReader> reader_of(NumberType type, bool big_endian);

}  // namespace kerfwright
