#include <gtest/gtest.h>

#include <algorithm>
#include <vector>

#include "kerfwright/files.hpp"
#include "scan_files.hpp"

// What holds for scans of every kind.

namespace kerfwright {
namespace {

TEST(FileType, NamesWhatIsNotReadHere) {
  const std::vector<std::pair<std::string, std::string>> foreign{
      {"a.e57", "ASTM-E57 and more"},
      {"a.usdz", std::string("PK\x03\x04", 4)},
      {"a.jpg", "\xff\xd8\xff\xe0 ..."},
      {"a.tgz", "\x1f\x8b..."},
      {"a.usda", "#usda 1.0"},
      {"a.fbx", "Kaydara FBX Binary"},
      {"a.dxf", "  0\r\nSECTION\r\n  2\r\nHEADER\r\n"},
      {"a.dwg", "AC1032"},
      {"a.pdf", "%PDF-1.7"},
      {"a.mp4", std::string("\0\0\0\x18"
                            "ftypisom",
                            12)},
      {"a.mov", std::string("\0\0\0\x14"
                            "ftypqt  ",
                            12)},
      {"a.off", "OFF\n4 2 0\n"},
      {"a.png", "\x89PNG\r\n"},
      {"a.heic", "....ftypheic"},
      {"a.json", "{\"points\": []}"},
      {"a.html", "<html></html>"},
      {"a.bin", std::string(100, '\1')}};
  for (const auto& [name, bytes] : foreign) {
    const std::string path = scratch_file(name, bytes);
    const UserError error = error_of([&] { read_scan(path, {}); });
    EXPECT_EQ(error.fault(), Fault::unknown_format) << name;
    EXPECT_NE(std::string(error.what()).find("export"), std::string::npos) << error.what();
  }
}

TEST(FileType, GoesByTheContentBeforeTheEnding) {
  expect_points(
      read_text("really_a_ply.xyz", ply_head("ascii", 4, float_xyz) + ascii_rows(few_points())),
      few_points());
  expect_points(read_text("really_text.log", ascii_rows(few_points())), few_points());
  EXPECT_EQ(fault_of("not_a.ply", ascii_rows(few_points())), Fault::damaged_file);
}

TEST(FileType, RefusesNoFileAndAnEmptyOne) {
  EXPECT_EQ(error_of([] { read_scan("/nowhere/at/all.ply", {}); }).fault(), Fault::no_file);
  const std::string path = scratch_file("empty.ply", "");
  EXPECT_EQ(error_of([&] { read_scan(path, {}); }).fault(), Fault::empty_file);
}

TEST(ReadScan, SaysWhereThePointsCameFrom) {
  const std::string bytes = ascii_rows(few_points());
  const Scan scan = read_text("cherry.xyz", bytes);
  EXPECT_EQ(scan.source.file, "cherry.xyz");
  EXPECT_EQ(scan.source.sha256, sha256_hex(bytes));
  EXPECT_EQ(scan.source.points, 4U);
}

TEST(ReadScan, RefusesPointsThatAllLieInOnePlace) {
  EXPECT_EQ(fault_of("one.xyz", "1 2 3\n1 2 3\n1 2 3\n"), Fault::bad_coordinates);
}

/// A floor of one point a square millimetre beside one of a point every 10 mm, and a few in the
/// air.
std::vector<Eigen::Vector3d> uneven_floor() {
  std::vector<Eigen::Vector3d> points;
  for (int x = 0; x < 1600; ++x)
    for (int y = 0; y < 1000; ++y) points.emplace_back(0.001 * x, 0.001 * y, 0.0);
  for (int x = 0; x < 100; ++x)
    for (int y = 0; y < 100; ++y) points.emplace_back(2.0 + 0.01 * x, 0.01 * y, 0.0);
  for (int i = 0; i < 600; ++i) points.emplace_back(0.11 * (i % 20), 0.11 * (i / 20), 1.0);
  return points;
}

TEST(Thinning, TakesPointsOnlyWhereTheyLieCloseAndSaysSo) {
  const auto floor = uneven_floor();
  const std::string bytes =
      ply_head("binary_little_endian", floor.size(), float_xyz) + binary_rows<float>(floor);
  const Scan scan = read_text("floor.ply", bytes);
  EXPECT_EQ(scan.source.points, floor.size());
  EXPECT_NEAR(static_cast<double>(scan.points.size()), 800000.0, 15000.0);
  std::size_t coarse = 0, in_air = 0;
  for (const Eigen::Vector3d& p : in_file(scan)) {
    coarse += p.z() < 0.5 && p.x() > 1.9 ? 1 : 0;
    in_air += p.z() > 0.5 ? 1 : 0;
  }
  EXPECT_EQ(coarse, 10000U);
  EXPECT_NEAR(static_cast<double>(in_air), 600.0 * 800000.0 / static_cast<double>(floor.size()),
              2.0);
  EXPECT_TRUE(has_note(scan, "1,610,600 points are finer than needed"));
  EXPECT_EQ(scan.points, read_text("again.ply", bytes).points);
}

TEST(Thinning, ThinsADenseFloorEvenly) {
  const auto floor = uneven_floor();
  const Scan scan =
      read_text("floor.ply", ply_head("binary_little_endian", floor.size(), float_xyz) +
                                 binary_rows<float>(floor));
  std::vector<int> cells(32 * 20);
  for (const Eigen::Vector3d& p : in_file(scan))
    if (p.x() < 1.5995 && p.z() < 0.5)
      ++cells[static_cast<std::size_t>((p.x() + 0.0005) / 0.05) * 20 +
              static_cast<std::size_t>((p.y() + 0.0005) / 0.05)];
  const auto [fewest, most] = std::minmax_element(cells.begin(), cells.end());
  EXPECT_GT(*fewest, 1210);
  EXPECT_LT(*most, 1300);
}

/// A bar of points as long as given, in whatever unit.
std::string bar(double length) {
  std::string text;
  for (int i = 0; i <= 1000; ++i)
    text += std::to_string(length * i / 1000.0) + " " +
            std::to_string(0.1 * length * (i % 7) / 7.0) + " 0\n";
  return text;
}

double mm_per_unit(const Scan& scan) { return scan.file_to_scan(0, 0); }

TEST(Unit, IsGuessedFromTheExtentAndStated) {
  EXPECT_EQ(mm_per_unit(read_text("m.xyz", bar(3.1))), 1000.0);
  EXPECT_EQ(mm_per_unit(read_text("cm.xyz", bar(310.0))), 10.0);
  EXPECT_EQ(mm_per_unit(read_text("mm.xyz", bar(3100.0))), 1.0);
  const Scan scan = read_text("m.xyz", bar(3.1));
  ASSERT_FALSE(scan.notes.empty());
  EXPECT_EQ(scan.notes[0].find("Taken to be in metres (extent 3."), 0U) << scan.notes[0];
  EXPECT_TRUE(scan.unit_guessed);
}

TEST(Unit, GivenIsBelieved) {
  ReadSettings settings;
  settings.unit = LengthUnit::centimetre;
  const Scan scan = read_text("m.xyz", bar(3.1), settings);
  EXPECT_EQ(mm_per_unit(scan), 10.0);
  EXPECT_FALSE(scan.unit_guessed);
  EXPECT_TRUE(scan.notes.empty());
}

TEST(Unit, OfACloudThatFitsNoneComesFromTheTapedLength) {
  ReadSettings settings;
  settings.log_length = 2500.0;
  EXPECT_NEAR(mm_per_unit(read_text("u.xyz", bar(0.013), settings)), 2500.0 / 0.013,
              0.02 * 2500.0 / 0.013);
}

TEST(ReadScan, KeepsTheWayUpAsAUnitVector) {
  ReadSettings settings;
  settings.up = Eigen::Vector3d(0, 2, 0);
  EXPECT_EQ(read_text("m.xyz", bar(3.1), settings).up, Eigen::Vector3d(0, 1, 0));
}

}  // namespace
}  // namespace kerfwright
