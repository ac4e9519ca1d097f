#include <gtest/gtest.h>

#include <limits>

#include "las_file.hpp"
#include "scan_files.hpp"

namespace kerfwright {
namespace {

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
