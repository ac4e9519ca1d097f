#pragma once

#include <cmath>
#include <string>
#include <vector>

#include "scan/scan_files.hpp"

namespace kerfwright {

/// A LAS file put together from the tables of the ASPRS LAS specification 1.4 R15: "Public Header
/// Block", "Point Data Record Format 0" to "10".
struct LasFile {
  int minor = 2;
  int format = 0;
  std::vector<Eigen::Vector3d> points = few_points();
  Eigen::Vector3d scale{0.001, 0.001, 0.001};
  Eigen::Vector3d offset{0, 0, 0};
  std::size_t extra_bytes = 0;    ///< behind every point
  std::size_t records_bytes = 0;  ///< of variable length records between header and points
  std::vector<int> classes{};     ///< of the points, in order; 0 where there are fewer
  std::vector<bool> withheld{};
  std::uint64_t promised = 0;  ///< 0 = as many as there are
  bool legacy_count = true;    ///< the 32-bit count is filled in too
};

inline std::string padded(std::string bytes, std::size_t size) {
  bytes.resize(size, '\0');
  return bytes;
}

inline std::size_t header_size(int minor) { return minor == 4 ? 375 : minor == 3 ? 235 : 227; }

inline std::size_t record_size(int format) {
  constexpr std::size_t sizes[] = {20, 28, 26, 34, 57, 63, 30, 36, 38, 59, 67};
  return sizes[format];
}

inline std::string las_header(const LasFile& file) {
  const std::uint64_t count = file.promised != 0 ? file.promised : file.points.size();
  std::string h = "LASF";
  h += std::string(20, '\0');  // source, encoding, project
  h += '\1';
  h += static_cast<char>(file.minor);
  h += padded("made by a test", 32) + padded("", 32);
  h += bytes_of(std::uint16_t{300}) + bytes_of(std::uint16_t{2024});
  const std::size_t size = header_size(file.minor);
  h += bytes_of(static_cast<std::uint16_t>(size));
  h += bytes_of(static_cast<std::uint32_t>(size + file.records_bytes));
  h += bytes_of(std::uint32_t{file.records_bytes > 0});
  h += static_cast<char>(file.format);
  h += bytes_of(static_cast<std::uint16_t>(record_size(file.format & 63) + file.extra_bytes));
  h += bytes_of(file.legacy_count ? static_cast<std::uint32_t>(count) : std::uint32_t{0});
  h += std::string(20, '\0');  // points by return
  for (const double v : file.scale) h += bytes_of(v);
  for (const double v : file.offset) h += bytes_of(v);
  h += std::string(48, '\0');  // bounds
  if (file.minor == 4) h += std::string(20, '\0') + bytes_of(count);
  return padded(h, size);
}

inline std::string las_point(const LasFile& file, std::size_t i) {
  std::string p;
  for (int axis = 0; axis < 3; ++axis)
    p += bytes_of(static_cast<std::int32_t>(
        std::lround((file.points[i][axis] - file.offset[axis]) / file.scale[axis])));
  p += bytes_of(std::uint16_t{500});  // intensity
  const int kind = i < file.classes.size() ? file.classes[i] : 0;
  const bool withheld = i < file.withheld.size() && file.withheld[i];
  if ((file.format & 63) < 6) {
    p += '\x09';  // first of one return
    p += static_cast<char>(kind | (withheld ? 0x80 : 0));
  } else {
    p += '\x11';
    p += static_cast<char>(withheld ? 4 : 0);
    p += static_cast<char>(kind);
  }
  return padded(p, record_size(file.format & 63)) + std::string(file.extra_bytes, 'x');
}

inline std::string las_bytes(const LasFile& file) {
  std::string bytes = las_header(file) + std::string(file.records_bytes, 'v');
  for (std::size_t i = 0; i < file.points.size(); ++i) bytes += las_point(file, i);
  return bytes;
}

}  // namespace kerfwright
