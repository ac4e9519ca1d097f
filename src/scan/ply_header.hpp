#pragma once

#include <cstdint>
#include <string>
#include <string_view>
#include <vector>

namespace kerfwright {

struct PlyElement {
  std::string name;
  std::uint64_t count = 0;
  std::uint64_t properties = 0;
  std::uint64_t bytes = 0;  ///< of one in a binary file; a list counted as if it were empty
};

struct PlyHeader {
  bool ascii = false;
  std::vector<PlyElement> elements;
  std::size_t body = 0;        ///< where the data begin, bytes from the start of the file
  std::uint64_t vertices = 0;  ///< 0 where the file has no vertex element
  std::uint64_t faces = 0;

  /// The fewest bytes in which the promised data can be written.
  double least_body() const;
};

/// Reads a PLY header by itself, since PCL believes whatever one promises and sets memory aside for
/// it.
/// @throws UserError damaged_file
PlyHeader parse_ply_header(const std::string& path, std::string_view bytes);

}  // namespace kerfwright
