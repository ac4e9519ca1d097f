#include <gtest/gtest.h>

#include <limits>

#include "scan_files.hpp"

namespace kerfwright {
namespace {

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

std::string padded(std::string bytes, std::size_t size) {
  bytes.resize(size, '\0');
  return bytes;
}

std::size_t header_size(int minor) { return minor == 4 ? 375 : minor == 3 ? 235 : 227; }

std::size_t record_size(int format) {
  constexpr std::size_t sizes[] = {20, 28, 26, 34, 57, 63, 30, 36, 38, 59, 67};
  return sizes[format];
}

std::string las_header(const LasFile& file) {
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

std::string las_point(const LasFile& file, std::size_t i) {
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

std::string las_bytes(const LasFile& file) {
  std::string bytes = las_header(file) + std::string(file.records_bytes, 'v');
  for (std::size_t i = 0; i < file.points.size(); ++i) bytes += las_point(file, i);
  return bytes;
}

Fault las_fault(const std::string& bytes, const std::string& words = "") {
  return fault_of("bad.las", bytes, words);
}

TEST(ReadLas, ReadsEveryPointFormatOfEveryVersion) {
  for (int minor = 0; minor <= 4; ++minor)
    for (int format = 0; format <= 10; ++format)
      expect_points(
          read_text("a.las", las_bytes({.minor = minor, .format = format, .extra_bytes = 3})),
          few_points());
}

TEST(ReadLas, SkipsRecordsBetweenHeaderAndPoints) {
  expect_points(read_text("a.las", las_bytes({.minor = 4, .format = 7, .records_bytes = 1234})),
                few_points());
}

TEST(ReadLas, TakesTheLongCountWhereTheShortOneIsZero) {
  expect_points(read_text("a.las", las_bytes({.minor = 4, .format = 6, .legacy_count = false})),
                few_points());
}

TEST(ReadLas, KeepsTenthsOfAMillimetreFarOut) {
  LasFile file{.minor = 4, .format = 6, .scale = {1e-4, 1e-4, 1e-4}};
  file.offset = {4512000.0, 5401000.0, 300.0};
  for (Eigen::Vector3d& p : file.points) p += file.offset + Eigen::Vector3d(1.0001, 2.0002, 0);
  expect_points(read_text("far.las", las_bytes(file)), file.points, 2e-6);
}

TEST(ReadLas, LeavesOutWhatIsWithheldOrNoiseAndCountsIt) {
  LasFile file{.minor = 4, .format = 6};
  file.classes = {0, 7, 18, 1};
  Scan scan = read_text("a.las", las_bytes(file));
  expect_points(scan, {few_points()[0], few_points()[3]});
  EXPECT_TRUE(has_note(scan, "2 points")) << scan.notes[0];
  file.format = 1;  // there 18 is not in use, and the class has five bits
  file.classes = {0x27, 2, 18, 0};
  file.withheld = {false, false, false, true};
  scan = read_text("a.las", las_bytes(file));
  expect_points(scan, {few_points()[1], few_points()[2]});
  EXPECT_TRUE(has_note(scan, "2 points"));
  EXPECT_EQ(scan.source.points, 4U);
}

TEST(ReadLas, SaysHowToDoWithoutLaz) {
  LasFile file;
  file.format = 0x80 | 3;
  EXPECT_EQ(fault_of("a.laz", las_bytes(file), "export the scan as LAS"), Fault::unknown_format);
}

TEST(ReadLas, RefusesWhatTheFileCannotHold) {
  const std::string whole = las_bytes({.minor = 4, .format = 6});
  EXPECT_EQ(las_fault(whole.substr(0, whole.size() - 1), "promises 4 points"), Fault::damaged_file);
  EXPECT_EQ(las_fault(whole.substr(0, 100)), Fault::damaged_file);
  EXPECT_EQ(las_fault("LASF"), Fault::damaged_file);
  EXPECT_EQ(las_fault(las_bytes({.promised = 4000000000U})), Fault::damaged_file);
  const std::uint64_t overflowing = (std::uint64_t{1} << 63) + 1;
  EXPECT_EQ(las_fault(las_bytes({.minor = 4, .format = 6, .promised = overflowing})),
            Fault::damaged_file);
}

TEST(ReadLas, RefusesHeadersThatContradictThemselves) {
  const std::string whole = las_bytes({});
  const auto changed = [&](std::size_t at, const std::string& bytes) {
    return std::string(whole).replace(at, bytes.size(), bytes);
  };
  EXPECT_EQ(las_fault(changed(24, "\2")), Fault::unknown_format);
  EXPECT_EQ(las_fault(changed(25, "\5")), Fault::unknown_format);
  EXPECT_EQ(las_fault(changed(104, "\x0b"), "format 11"), Fault::damaged_file);
  EXPECT_EQ(las_fault(changed(105, bytes_of(std::uint16_t{0}))), Fault::damaged_file);
  EXPECT_EQ(las_fault(changed(105, bytes_of(std::uint16_t{19}))), Fault::damaged_file);
  EXPECT_EQ(las_fault(changed(96, bytes_of(std::uint32_t{0}))), Fault::damaged_file);
  EXPECT_EQ(las_fault(changed(96, bytes_of(std::uint32_t{4000000000U}))), Fault::damaged_file);
  EXPECT_EQ(las_fault(changed(107, bytes_of(std::uint32_t{0}))), Fault::empty_file);
  EXPECT_EQ(las_fault(changed(131, bytes_of(0.0))), Fault::damaged_file);
  EXPECT_EQ(las_fault(changed(155, bytes_of(std::numeric_limits<double>::quiet_NaN()))),
            Fault::damaged_file);
}

TEST(ReadLas, CallsAFileOfNothingButNoiseEmpty) {
  LasFile file{.minor = 4, .format = 6};
  file.classes = {7, 7, 7, 7};
  EXPECT_EQ(las_fault(las_bytes(file)), Fault::empty_file);
}

}  // namespace
}  // namespace kerfwright
