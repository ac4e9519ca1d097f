#include <bit>
#include <cstdint>

#include "invented/phone_scan.hpp"

namespace kerfwright {
namespace {

void append_float(std::string& bytes, float value) {
  const auto bits = std::bit_cast<std::uint32_t>(value);
  for (int shift = 0; shift < 32; shift += 8) bytes += static_cast<char>((bits >> shift) & 0xffU);
}

}  // namespace

std::string to_ply(const PhoneScan& scan, bool labels) {
  std::string bytes =
      "ply\nformat binary_little_endian 1.0\ncomment an invented log: nothing here was ever grown\n"
      "element vertex " +
      std::to_string(scan.points.size()) +
      "\nproperty float x\nproperty float y\nproperty float z\n"
      "property uchar red\nproperty uchar green\nproperty uchar blue\n";
  if (labels) bytes += "property uchar label\n";
  bytes += "end_header\n";
  bytes.reserve(bytes.size() + scan.points.size() * (labels ? 16 : 15));
  for (const ScannedPoint& point : scan.points) {
    for (int k = 0; k < 3; ++k) append_float(bytes, point.position[k]);
    for (std::uint8_t channel : point.colour) bytes += static_cast<char>(channel);
    if (labels) bytes += static_cast<char>(point.label);
  }
  return bytes;
}

}  // namespace kerfwright
