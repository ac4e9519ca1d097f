#include <cmath>
#include <limits>

#include "scan_files.hpp"

// What PLY and PCD may hold besides a plain table of points.

namespace kerfwright {
namespace {

const std::string face_lists = "element face 2\nproperty list uchar int vertex_indices\n";

TEST(ReadPly, ReadsFacesInBothByteOrders) {
  for (const bool big : {false, true}) {
    const auto face = [&](std::initializer_list<std::int32_t> corners) {
      std::string bytes(1, static_cast<char>(corners.size()));
      for (const std::int32_t corner : corners) bytes += bytes_of(corner, big);
      return bytes;
    };
    const std::string head =
        ply_head(big ? "binary_big_endian" : "binary_little_endian", 4, float_xyz, face_lists) +
        binary_rows<float>({{0, 0, 0}, {3, 0, 0}, {3, 1, 0}, {0, 1, 0}}, big);
    const Scan scan = read_text("faces.ply", head + face({0, 1, 2}) + face({0, 2, 3}));
    EXPECT_EQ(scan.source.points, 4U);
    EXPECT_GT(scan.points.size(), 100000U);
    EXPECT_EQ(fault_of("f.ply", head + face({0, 1, 2}) + face({0, 2, 4})), Fault::damaged_file);
    EXPECT_EQ(fault_of("f.ply", head + face({0, 1, 2}) + face({0, 2, -1})), Fault::damaged_file);
  }
}

TEST(ReadPly, RefusesTextRowsOfAnotherLength) {
  for (const std::string row : {"1 2\n", "1 2 3 4\n"})
    EXPECT_EQ(fault_of("r.ply", ply_head("ascii", 3, float_xyz) + "0 0 0\n" + row + "2 2 2\n"),
              Fault::damaged_file);
  const std::string faces = ply_head("ascii", 4, float_xyz, face_lists) + ascii_rows(few_points());
  for (const std::string row : {"3 0 1\n", "2 0 1 2\n", "-1 0\n", "2.5 0 1\n"})
    EXPECT_EQ(fault_of("r.ply", faces + row + "3 0 1 2\n"), Fault::damaged_file);
}

TEST(ReadPly, PassesOverElementsThatHoldNothing) {
  for (const std::string format : {"ascii", "binary_little_endian"}) {
    const std::string head = "ply\nformat " + format +
                             " 1.0\nelement nothing 18000000000000000000\nelement vertex 4\n" +
                             float_xyz + "end_header\n";
    expect_points(
        read_text("n.ply", head + (format == "ascii" ? ascii_rows(few_points())
                                                     : binary_rows<float>(few_points(), false))),
        few_points());
  }
  EXPECT_EQ(fault_of("t.ply", "ply\nformat ascii 1.0\nelement vertex 4\n" + float_xyz +
                                  "element vertex 4\n" + float_xyz + "end_header\n" +
                                  ascii_rows(few_points()) + ascii_rows(few_points())),
            Fault::damaged_file);
}

TEST(ReadPly, DropsRaysOfAGridThatMetNothing) {
  auto points = few_points();
  points[2].setConstant(std::numeric_limits<double>::quiet_NaN());
  const Scan scan = read_text(
      "grid.ply", ply_head("ascii", 4, float_xyz,
                           "element range_grid 2\nproperty list uchar int vertex_indices\n") +
                      ascii_rows(points) + "1 0\n0\n");
  points.erase(points.begin() + 2);
  expect_points(scan, points);
}

TEST(ReadPly, KeepsTheDigitsOfTextFarOut) {
  auto far = few_points();
  for (Eigen::Vector3d& p : far) p += Eigen::Vector3d(4512345.0, 5401234.0, 312.0);
  far[1].x() += 0.0001;
  expect_points(read_text("far.ply", ply_head("ascii", 4, float_xyz) + ascii_rows(far)), far, 2e-6);
}

std::string pcd_of(const std::string& fields, const std::string& sizes, const std::string& types,
                   const std::string& counts, const std::string& data) {
  return "VERSION 0.7\nFIELDS " + fields + "\nSIZE " + sizes + "\nTYPE " + types + "\nCOUNT " +
         counts + "\nWIDTH 4\nHEIGHT 1\nPOINTS 4\nDATA " + data + "\n";
}

TEST(ReadPcd, FindsCoordinatesBehindTimesAndHistograms) {
  std::string rows, columns;
  for (const Eigen::Vector3d& p : few_points())
    rows += bytes_of(std::uint64_t{7}) + bytes_of(p.z()) + std::string(3, 'h') +
            bytes_of(static_cast<float>(p.x())) + bytes_of(static_cast<float>(p.y()));
  expect_points(
      read_text("h.pcd",
                pcd_of("t z hist x y", "8 8 1 4 4", "U F U F F", "1 1 3 1 1", "binary") + rows),
      few_points());
}

// LZF by hand. Of x, four times the float 0.5 (00 00 00 3f), the first is told as four bytes and
// the others as 12 bytes from 4 back, a length of 9 and more having a byte of its own; y is the
// same 16 bytes from 16 back; z is told in full.
TEST(ReadPcd, UnpacksWhatIsToldByWhatCameBefore) {
  const std::string x("\x03\x00\x00\x00\x3f\xe0\x03\x03", 8);
  const std::string y("\xe0\x07\x0f", 3);
  std::string z = "\x0f";
  std::vector<Eigen::Vector3d> points;
  for (const double height : {0.0, 1.0, 2.0, 3.0}) {
    points.emplace_back(0.5, 0.5, height);
    z += bytes_of(static_cast<float>(height));
  }
  const auto file = [](const std::string& packed) {
    return pcd_of("x y z", "4 4 4", "F F F", "1 1 1", "binary_compressed") +
           bytes_of(static_cast<std::uint32_t>(packed.size())) + bytes_of(std::uint32_t{48}) +
           packed;
  };
  expect_points(read_text("lzf.pcd", file(x + y + z)), points);
  // Further back than there is anything; a byte more and one less than is promised; broken off.
  for (const std::string bad : {"\xe0\x07\x10", "\xe0\x08\x0f", "\xe0\x06\x0f"})
    EXPECT_EQ(fault_of("b.pcd", file(x + bad + z)), Fault::damaged_file);
  for (std::size_t left = 1; left < 12; ++left)
    EXPECT_EQ(fault_of("b.pcd", file((x + y + z).substr(0, (x + y + z).size() - left))),
              Fault::damaged_file);
  EXPECT_EQ(fault_of("b.pcd", file(x + y + z + "\xe0")), Fault::damaged_file);
  EXPECT_EQ(fault_of("b.pcd", file(x + y + z + "\x20")), Fault::damaged_file);
}

TEST(ReadPcd, RefusesRowsThatAreTooShortAndSaysWhichWordIsNoNumber) {
  const std::string head = pcd_of("x y z", "4 4 4", "F F F", "1 1 1", "ascii");
  EXPECT_EQ(fault_of("s.pcd", head + "0 0 0\n1 1\n2 2 2\n3 3 3 3\n"), Fault::damaged_file);
  EXPECT_EQ(fault_of("w.pcd", head + "0 0 0\n1 word 1\n2 2 2\n3 3 3\n", "point 2"),
            Fault::bad_coordinates);
}

}  // namespace
}  // namespace kerfwright
