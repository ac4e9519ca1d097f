#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "number_type.hpp"

namespace kerfwright {

struct PlyProperty {
  std::string name;
  NumberType type;                  ///< of the number, or of each in the list
  std::optional<NumberType> count;  ///< of the number before a list that says how long it is
};

struct PlyElement {
  std::string name;
  std::uint64_t count = 0;
  std::vector<PlyProperty> properties;

  /// Bytes of one in a binary file; a list counted as if it were empty.
  std::uint64_t bytes() const;
  bool has_lists() const;
};

struct PlyHeader {
  bool ascii = false;
  bool big_endian = false;
  std::vector<PlyElement> elements;
  std::size_t body = 0;        ///< where the data begin, bytes from the start of the file
  std::uint64_t vertices = 0;  ///< 0 where the file has no vertex element
  std::uint64_t faces = 0;

  /// The fewest bytes in which the promised data can be written.
  double least_body() const;
};

/// @throws UserError damaged_file
PlyHeader parse_ply_header(const std::string& path, std::string_view bytes);

}  // namespace kerfwright
