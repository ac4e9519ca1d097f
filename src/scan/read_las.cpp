#include <array>
#include <cmath>
#include <optional>

#include "kerfwright/error.hpp"
#include "little_endian.hpp"
#include "raw_cloud.hpp"

// Offsets, formats and flags: ASPRS, "LAS Specification 1.4 - R15" (9 July 2019), tables "Public
// Header Block" and "Point Data Record Format 0" to "10"; 1.0 to 1.3 differ only in what is not
// read here. Not through PDAL, which brings GDAL with it for what is a table of whole numbers.

namespace kerfwright {
namespace {

[[noreturn]] void damaged(const std::string& path, const std::string& what) {
  throw UserError(Fault::damaged_file,
                  file_name(path) + ": " + what + "; copy or export the scan again.");
}

constexpr std::size_t header_bytes = 227;       // up to LAS 1.2
constexpr std::size_t long_header_bytes = 375;  // LAS 1.4
constexpr std::array<std::size_t, 11> least_record_bytes{20, 28, 26, 34, 57, 63,
                                                         30, 36, 38, 59, 67};
constexpr int first_long_format = 6;

struct LasHeader {
  std::size_t body = 0;
  int format = 0;
  std::size_t record = 0;  ///< bytes of a point
  std::uint64_t points = 0;
  Eigen::Vector3d scale{0, 0, 0};
  Eigen::Vector3d offset{0, 0, 0};
};

void check_version(const std::string& path, std::string_view bytes) {
  if (bytes.size() < header_bytes) damaged(path, "the LAS header breaks off");
  const int major = static_cast<unsigned char>(bytes[24]);
  const int minor = static_cast<unsigned char>(bytes[25]);
  if (major == 1 && minor <= 4) return;
  throw UserError(Fault::unknown_format, file_name(path) + " is LAS " + std::to_string(major) +
                                             "." + std::to_string(minor) +
                                             ", of which only 1.0 to 1.4 are read here; export "
                                             "the scan as LAS 1.4 or PLY.");
}

/// A LAZ file is a LAS file whose format has its two highest bits in use.
int point_format(const std::string& path, std::string_view bytes) {
  const int format = static_cast<unsigned char>(bytes[104]);
  if (format >= 64)
    throw UserError(Fault::unknown_format,
                    file_name(path) +
                        " is a packed LAS file (LAZ), which is not read here; export the scan as "
                        "LAS, or unpack it to LAS with the program that made it.");
  if (format >= static_cast<int>(least_record_bytes.size()))
    damaged(path, "the LAS header names point format " + std::to_string(format) +
                      ", and there are only 0 to 10");
  return format;
}

std::uint64_t point_count(std::string_view bytes, std::size_t header_size) {
  const auto legacy = little_endian<std::uint32_t>(bytes, 107);
  const bool has_long_count = bytes[25] == 4 && header_size >= long_header_bytes;
  const auto count = has_long_count ? little_endian<std::uint64_t>(bytes, 247) : 0;
  return count != 0 ? count : legacy;
}

Eigen::Vector3d three_doubles(std::string_view bytes, std::size_t at) {
  return {little_endian<double>(bytes, at), little_endian<double>(bytes, at + 8),
          little_endian<double>(bytes, at + 16)};
}

void check_sizes(const std::string& path, const LasHeader& header, std::size_t bytes) {
  if (header.points == 0)
    throw UserError(Fault::empty_file, file_name(path) +
                                           ": the LAS header promises no points; check what was "
                                           "selected when the scan was exported.");
  if (header.record < least_record_bytes[static_cast<std::size_t>(header.format)])
    damaged(path, "the LAS header gives points of format " + std::to_string(header.format) +
                      " only " + std::to_string(header.record) + " bytes each");
  if (header.body > bytes || header.points > (bytes - header.body) / header.record)
    damaged(path, "the LAS header promises " + std::to_string(header.points) +
                      " points, which the " + std::to_string(bytes) +
                      " bytes of the file cannot hold");
  if (!(header.scale.array().abs() > 0.0).all() || !header.scale.allFinite() ||
      !header.offset.allFinite())
    damaged(path, "the LAS header gives a scale or an offset that cannot be");
}

LasHeader parse_las_header(const std::string& path, std::string_view bytes) {
  check_version(path, bytes);
  LasHeader header;
  header.format = point_format(path, bytes);
  const std::size_t header_size = little_endian<std::uint16_t>(bytes, 94);
  header.body = little_endian<std::uint32_t>(bytes, 96);
  if (header_size < header_bytes || header.body < header_size || header_size > bytes.size())
    damaged(path, "the LAS header contradicts itself about where the points begin");
  header.record = little_endian<std::uint16_t>(bytes, 105);
  header.points = point_count(bytes, header_size);
  header.scale = three_doubles(bytes, 131);
  header.offset = three_doubles(bytes, 155);
  check_sizes(path, header, bytes.size());
  return header;
}

/// Withheld points are deleted ones that are still there; classes 7 and, in the long formats, 18
/// are noise.
bool is_left_out(std::string_view record, int format) {
  const auto byte = [record](std::size_t at) {
    return static_cast<unsigned>(static_cast<unsigned char>(record[at]));
  };
  if (format < first_long_format) return (byte(15) & 0x80U) != 0 || (byte(15) & 0x1FU) == 7;
  return (byte(15) & 0x04U) != 0 || byte(16) == 7 || byte(16) == 18;
}

}  // namespace

RawCloud read_las(const std::string& path, std::string_view bytes) {
  const LasHeader header = parse_las_header(path, bytes);
  RawCloud cloud;
  cloud.points.reserve(header.points);
  for (std::uint64_t i = 0; i < header.points; ++i) {
    const std::string_view record = bytes.substr(header.body + i * header.record, header.record);
    if (is_left_out(record, header.format)) continue;
    const Eigen::Vector3d whole(little_endian<std::int32_t>(record, 0),
                                little_endian<std::int32_t>(record, 4),
                                little_endian<std::int32_t>(record, 8));
    cloud.points.emplace_back(whole.cwiseProduct(header.scale) + header.offset);
  }
  cloud.left_out = header.points - cloud.points.size();
  if (cloud.points.empty())
    throw UserError(Fault::empty_file, file_name(path) +
                                           ": all its points are marked as withheld or as noise; "
                                           "export the scan with the points of the log.");
  if (cloud.left_out > 0)
    cloud.notes.push_back(std::to_string(cloud.left_out) +
                          (cloud.left_out == 1 ? " point was" : " points were") +
                          " left out, marked in the LAS file as withheld or as noise.");
  return cloud;
}

}  // namespace kerfwright
