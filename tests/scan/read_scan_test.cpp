#include "kerfwright/scan/read_scan.hpp"

#include <gtest/gtest.h>

#include <Eigen/Geometry>
#include <algorithm>
#include <cmath>
#include <limits>
#include <vector>

#include "kerfwright/files.hpp"
#include "scan_files.hpp"

namespace kerfwright {
namespace {

TEST(ReadPly, ReadsAscii) {
  expect_points(read_text("a.ply", ply_head("ascii", 4, float_xyz) + ascii_rows(few_points())),
                few_points());
}

TEST(ReadPly, ReadsLinesThatEndInCrLf) {
  std::string head = ply_head("ascii", 4, float_xyz) + ascii_rows(few_points());
  std::string crlf;
  for (const char c : head) crlf += c == '\n' ? std::string("\r\n") : std::string(1, c);
  expect_points(read_text("a.ply", crlf), few_points());
}

TEST(ReadPly, ReadsBothByteOrdersInFloatAndDouble) {
  for (const bool big : {false, true}) {
    const std::string format = big ? "binary_big_endian" : "binary_little_endian";
    expect_points(
        read_text("f.ply", ply_head(format, 4, float_xyz) + binary_rows<float>(few_points(), big)),
        few_points());
    expect_points(read_text("d.ply", ply_head(format, 4, double_xyz) +
                                         binary_rows<double>(few_points(), big)),
                  few_points());
  }
}

TEST(ReadPly, FindsCoordinatesAmongOtherPropertiesInAnyOrder) {
  const std::string properties =
      "property uchar red\nproperty uchar green\nproperty uchar blue\nproperty float nx\nproperty "
      "float z\n"
      "property short quality\nproperty float x\nproperty double y\n";
  std::string rows;
  for (const Eigen::Vector3d& p : few_points())
    rows += std::string("\x01\x02\x03", 3) + bytes_of(0.5f) + bytes_of(static_cast<float>(p.z())) +
            bytes_of(std::int16_t{7}) + bytes_of(static_cast<float>(p.x())) + bytes_of(p.y());
  expect_points(read_text("o.ply", ply_head("binary_little_endian", 4, properties) + rows),
                few_points());
}

TEST(ReadPly, ReadsVerticesBehindOtherElements) {
  const std::string text =
      "ply\nformat ascii 1.0\nelement camera 1\nproperty float f\nelement vertex 4\n" + float_xyz +
      "element edge 1\nproperty int a\nproperty int b\nend_header\n35\n" +
      ascii_rows(few_points()) + "0 1\n";
  expect_points(read_text("e.ply", text), few_points());
}

TEST(ReadPly, ReadsListsNormalsAndFacesAmongPointsInBothByteOrders) {
  for (const bool big : {false, true}) {
    std::string bytes = std::string("ply\nformat ") +
                        (big ? "binary_big_endian" : "binary_little_endian") +
                        " 1.0\nelement strip 2\nproperty list ushort short corners\n"
                        "element vertex 4\nproperty list uchar float seen_from\n" +
                        double_xyz +
                        "property float nx\nproperty uchar red\n"
                        "element edge 1\nproperty int a\nend_header\n";
    for (int i = 0; i < 2; ++i)
      bytes += bytes_of(std::uint16_t{1}, big) + bytes_of(std::int16_t{5}, big);
    for (const Eigen::Vector3d& p : few_points()) {
      bytes += "\2" + bytes_of(0.5f, big) + bytes_of(0.25f, big);
      bytes += binary_rows<double>({p}, big) + bytes_of(1.0f, big) + "\xff";
    }
    expect_points(read_text("l.ply", bytes + bytes_of(std::int32_t{3}, big)), few_points());
  }
}

TEST(ReadPly, RefusesFacesOfPointsThatAreNotThere) {
  for (const std::string face : {"3 0 1 4\n", "3 0 1 -1\n"})
    EXPECT_EQ(fault_of("f.ply", ply_head("ascii", 4, float_xyz,
                                         "element face 1\nproperty list uchar int "
                                         "vertex_indices\n") +
                                    ascii_rows(few_points()) + face),
              Fault::damaged_file);
}

TEST(ReadPly, SpreadsPointsOverTheFacesOfACoarseMesh) {
  const std::string text =
      ply_head("ascii", 4, float_xyz, "element face 1\nproperty list uchar int vertex_indices\n") +
      "0 0 0\n3 0 0\n3 1 0\n0 1 0\n4 0 1 2 3\n";
  const Scan scan = read_text("m.ply", text);
  EXPECT_EQ(scan.source.points, 4U);
  ASSERT_GT(scan.points.size(), 100000U);
  // Even: each third of the rectangle gets a third, within four standard deviations of a fair draw.
  std::size_t third = 0;
  for (const Eigen::Vector3d& p : in_file(scan)) third += p.x() < 1.0 ? 1 : 0;
  const double n = static_cast<double>(scan.points.size());
  EXPECT_NEAR(static_cast<double>(third), n / 3.0, 4.0 * std::sqrt(n * 2.0 / 9.0));
  EXPECT_EQ(read_text("again.ply", text).points, scan.points);
}

TEST(ReadPly, LosesNothingFarFromTheOrigin) {
  std::vector<Eigen::Vector3d> far = few_points();
  for (Eigen::Vector3d& p : far) p += Eigen::Vector3d(4512345.0, 5401234.0, 312.0);
  far[1].x() += 0.0001;
  const Scan scan = read_text(
      "far.ply", ply_head("binary_little_endian", 4, double_xyz) + binary_rows<double>(far, false));
  // 0.1 mm at 4500 km is still there, though a float holds half a metre there.
  expect_points(scan, far, 2e-6);
}

TEST(ReadPly, RefusesAHeaderThatPromisesABillionPoints) {
  for (const std::string format : {"ascii", "binary_little_endian"})
    EXPECT_EQ(fault_of("big.ply", ply_head(format, 1000000000, float_xyz) + "0 0 0\n1 1 1\n"),
              Fault::damaged_file);
  EXPECT_EQ(fault_of("huge.ply", ply_head("ascii", 18000000000000000000U, double_xyz) + "0 0 0\n"),
            Fault::damaged_file);
}

TEST(ReadPly, RefusesHalfAFile) {
  const std::string binary =
      ply_head("binary_little_endian", 4, float_xyz) + binary_rows<float>(few_points(), false);
  EXPECT_EQ(fault_of("half.ply", binary.substr(0, binary.size() - 7)), Fault::damaged_file);
  const std::string ascii = ply_head("ascii", 4, float_xyz) + ascii_rows(few_points());
  EXPECT_EQ(fault_of("half.ply", ascii.substr(0, ascii.size() - 22)), Fault::damaged_file);
  EXPECT_EQ(fault_of("head.ply", ascii.substr(0, 40)), Fault::damaged_file);
  const std::string faces = ply_head("binary_little_endian", 4, float_xyz,
                                     "element face 9\nproperty list uchar int vertex_indices\n") +
                            binary_rows<float>(few_points(), false) +
                            std::string("\x03\x00\x00\x00\x00\x01\x00\x00\x00", 9);
  EXPECT_EQ(fault_of("faces.ply", faces), Fault::damaged_file);
}

TEST(ReadPly, RefusesHeadersThatContradictThemselves) {
  const std::string rows = ascii_rows(few_points());
  EXPECT_EQ(fault_of("h.ply", "ply\nformat ascii 1.0\nelement vertex four\n" + float_xyz +
                                  "end_header\n" + rows),
            Fault::damaged_file);
  EXPECT_EQ(fault_of("h.ply", "ply\nformat cuneiform 1.0\nelement vertex 4\n" + float_xyz +
                                  "end_header\n" + rows),
            Fault::damaged_file);
  EXPECT_EQ(fault_of("h.ply", "ply\nelement vertex 4\n" + float_xyz + "end_header\n" + rows),
            Fault::damaged_file);
  EXPECT_EQ(fault_of("h.ply", ply_head("ascii", 4, "property float x\nproperty float y\n") + rows),
            Fault::damaged_file);
  EXPECT_EQ(fault_of("h.ply", ply_head("ascii", 4, "property quaternion x\n" + float_xyz) + rows),
            Fault::damaged_file);
}

TEST(ReadPly, CallsAHeaderOfNoPointsEmpty) {
  EXPECT_EQ(fault_of("none.ply", ply_head("ascii", 0, float_xyz)), Fault::empty_file);
}

TEST(ReadPly, RefusesCoordinatesThatAreNoNumbersAndSaysWhere) {
  auto points = few_points();
  points[2].y() = std::numeric_limits<double>::quiet_NaN();
  points[3].z() = std::numeric_limits<double>::infinity();
  const std::string path = scratch_file("nan.ply", ply_head("binary_little_endian", 4, float_xyz) +
                                                       binary_rows<float>(points, false));
  const UserError error = error_of([&] { read_scan(path, {}); });
  EXPECT_EQ(error.fault(), Fault::bad_coordinates);
  EXPECT_NE(std::string(error.what()).find("2 points"), std::string::npos) << error.what();
  EXPECT_NE(std::string(error.what()).find("point 3"), std::string::npos) << error.what();
  EXPECT_EQ(fault_of("w.ply", ply_head("ascii", 4, float_xyz) + "0 0 0\n1 word 2\n2 2 2\n3 3 3\n"),
            Fault::bad_coordinates);
}

std::string pcd_head(const std::string& type, const std::string& size, std::size_t width,
                     std::size_t height, const std::string& data) {
  return "# .PCD v0.7 - Point Cloud Data file format\nVERSION 0.7\nFIELDS x y z intensity\nSIZE " +
         size + "\nTYPE " + type + "\nCOUNT 1 1 1 1\nWIDTH " + std::to_string(width) + "\nHEIGHT " +
         std::to_string(height) + "\nVIEWPOINT 0 0 0 1 0 0 0\nPOINTS " +
         std::to_string(width * height) + "\nDATA " + data + "\n";
}

TEST(ReadPcd, ReadsAsciiAndBinaryInFloatAndDouble) {
  expect_points(read_text("a.pcd", pcd_head("F F F F", "4 4 4 4", 4, 1, "ascii") +
                                       ascii_rows(few_points(), " ", " 9")),
                few_points());
  expect_points(read_text("b.pcd", pcd_head("F F F F", "4 4 4 4", 4, 1, "binary") +
                                       binary_rows<float>(few_points(), false, bytes_of(9.0f))),
                few_points());
  std::vector<Eigen::Vector3d> far = few_points();
  for (Eigen::Vector3d& p : far) p += Eigen::Vector3d(1e6 + 0.0003, 2e6, 3e3);
  expect_points(read_text("d.pcd", pcd_head("F F F F", "8 8 8 4", 4, 1, "binary") +
                                       binary_rows<double>(far, false, bytes_of(9.0f))),
                far, 2e-6);
}

/// A compressed body holds all x, then all y, and so on; here in runs that are not shortened (LZF:
/// a byte of the length less one, then the bytes themselves).
std::string stored_lzf(const std::string& bytes) {
  std::string out;
  for (std::size_t at = 0; at < bytes.size(); at += 32) {
    const std::string run = bytes.substr(at, 32);
    out += static_cast<char>(run.size() - 1) + run;
  }
  return out;
}

std::string compressed_pcd() {
  std::string columns;
  for (int axis = 0; axis < 3; ++axis)
    for (const Eigen::Vector3d& p : few_points()) columns += bytes_of(static_cast<float>(p[axis]));
  for (int i = 0; i < 4; ++i) columns += bytes_of(9.0f);
  const std::string packed = stored_lzf(columns);
  return pcd_head("F F F F", "4 4 4 4", 4, 1, "binary_compressed") +
         bytes_of(static_cast<std::uint32_t>(packed.size())) +
         bytes_of(static_cast<std::uint32_t>(columns.size())) + packed;
}

TEST(ReadPcd, ReadsCompressed) {
  expect_points(read_text("c.pcd", compressed_pcd()), few_points());
}

TEST(ReadPcd, DropsRaysOfAPictureThatMetNothing) {
  auto points = few_points();
  points[1].setConstant(std::numeric_limits<double>::quiet_NaN());
  const Scan scan = read_text("org.pcd", pcd_head("F F F F", "4 4 4 4", 2, 2, "binary") +
                                             binary_rows<float>(points, false, bytes_of(9.0f)));
  points.erase(points.begin() + 1);
  expect_points(scan, points);
  EXPECT_EQ(scan.source.points, 4U);
  EXPECT_TRUE(std::any_of(scan.notes.begin(), scan.notes.end(), [](const std::string& note) {
    return note.find("met nothing") != std::string::npos;
  }));
}

TEST(ReadPcd, RefusesNanInACloudThatIsNoPicture) {
  auto points = few_points();
  points[1].setConstant(std::numeric_limits<double>::quiet_NaN());
  EXPECT_EQ(fault_of("nan.pcd", pcd_head("F F F F", "4 4 4 4", 4, 1, "binary") +
                                    binary_rows<float>(points, false, bytes_of(9.0f))),
            Fault::bad_coordinates);
}

TEST(ReadPcd, RefusesWhatDoesNotHoldWhatItPromises) {
  const std::string rows = ascii_rows(few_points(), " ", " 9");
  EXPECT_EQ(fault_of("p.pcd", pcd_head("F F F F", "4 4 4 4", 1000000000, 1, "ascii") + rows),
            Fault::damaged_file);
  EXPECT_EQ(fault_of("p.pcd", pcd_head("F F F F", "4 4 4 4", 1000000000, 1, "binary") + rows),
            Fault::damaged_file);
  EXPECT_EQ(fault_of("p.pcd", pcd_head("F F F F", "4 4 4 4", 5, 1, "ascii") + rows),
            Fault::damaged_file);
  EXPECT_EQ(fault_of("p.pcd", pcd_head("F F F F", "4 4 4", 4, 1, "ascii") + rows),
            Fault::damaged_file);
  EXPECT_EQ(fault_of("p.pcd", pcd_head("F F F Q", "4 4 4 4", 4, 1, "ascii") + rows),
            Fault::damaged_file);
  EXPECT_EQ(fault_of("p.pcd", pcd_head("F F F F", "4 4 4 4", 0, 1, "ascii")), Fault::empty_file);
  EXPECT_EQ(fault_of("p.pcd", "# .PCD v0.7\nVERSION 0.7\nFIELDS x y z\n"), Fault::damaged_file);
  const std::string packed = compressed_pcd();
  EXPECT_EQ(fault_of("p.pcd", packed.substr(0, packed.size() - 5)), Fault::damaged_file);
  std::string lying = packed;
  lying[lying.find("compressed\n") + 11 + 7] = '\x7f';  // two thousand million bytes once unpacked
  EXPECT_EQ(fault_of("p.pcd", lying), Fault::damaged_file);
}

TEST(ReadPcd, LivesThroughAMisspeltHeader) {
  std::string bytes =
      pcd_head("F F F F", "4 4 4 4", 4, 1, "ascii") + ascii_rows(few_points(), " ", " 9");
  bytes.replace(bytes.find("VERSION"), 7, "VE?SION");
  expect_points(read_text("v.pcd", bytes), few_points());
}

TEST(ReadObj, ReadsVerticesWithColoursAndFacesOfAllForms) {
  const Scan scan =
      read_text("o.obj",
                "# a mesh\nmtllib none.mtl\no log\nv 0 0 0 0.1 0.2 0.3\nv 3 0 0\nv 3 1 0\nv 0 1 0\n"
                "vt 0 0\nvn 0 0 1\nf 1/1/1 2//1 3/1\nf -4 -2 -1\n");
  EXPECT_EQ(scan.source.points, 4U);
  EXPECT_GT(scan.points.size(), 100000U);
}

TEST(ReadObj, KeepsVerticesAloneAndDigitsFarOut) {
  std::vector<Eigen::Vector3d> far = few_points();
  std::string text;
  for (Eigen::Vector3d& p : far) {
    p += Eigen::Vector3d(512345.0, 5401234.0, 312.0);
    char line[128];
    std::snprintf(line, sizeof line, "v %.5f %.5f %.5f\n", p.x(), p.y(), p.z());
    text += line;
  }
  expect_points(read_text("o.obj", text), far, 2e-6);
}

TEST(ReadObj, RefusesBrokenLines) {
  EXPECT_EQ(fault_of("o.obj", "v 0 0 0\nv 1 1\n"), Fault::damaged_file);
  EXPECT_EQ(fault_of("o.obj", "v 0 0 0\nv 1 1 1\nf 1 2 3\n"), Fault::damaged_file);
  EXPECT_EQ(fault_of("o.obj", "# nothing here\no log\n"), Fault::empty_file);
}

TEST(ReadText, ReadsAllWaysOfWritingColumns) {
  const auto points = few_points();
  expect_points(read_text("a.xyz", ascii_rows(points)), points);
  expect_points(read_text("a.csv", ascii_rows(points, ",")), points);
  expect_points(read_text("a.csv", ascii_rows(points, ", ")), points);
  expect_points(read_text("a.txt", ascii_rows(points, ";")), points);
  expect_points(read_text("a.asc", ascii_rows(points, "\t")), points);
  expect_points(read_text("a.txt", ascii_rows(points, "   ", "  12 255 0 7", "\r\n")), points);
  expect_points(
      read_text("a.txt", "\xEF\xBB\xBF# a remark\n\n// another\n" + ascii_rows(points) + "\n\n"),
      points);
  expect_points(read_text("noending", ascii_rows(points)), points);
}

TEST(ReadText, ReadsDecimalCommas) {
  std::string semicolons = ascii_rows(few_points(), ";");
  std::replace(semicolons.begin(), semicolons.end(), '.', ',');
  expect_points(read_text("a.csv", semicolons), few_points());
  std::string blanks = ascii_rows(few_points(), " ");
  std::replace(blanks.begin(), blanks.end(), '.', ',');
  expect_points(read_text("a.txt", blanks), few_points());
}

TEST(ReadText, ReadsHeaderLinesAndNamedColumns) {
  const auto points = few_points();
  expect_points(read_text("a.csv", "x,y,z\n" + ascii_rows(points, ",")), points);
  expect_points(read_text("a.txt", "//X Y Z R G B\n" + ascii_rows(points, " ", " 1 2 3")), points);
  expect_points(read_text("a.pts", "4\n" + ascii_rows(points, " ", " 100 1 2 3")), points);
  std::string numbered = "id;z;x;y\n";
  for (const Eigen::Vector3d& p : points)
    numbered += "7;" + std::to_string(p.z()) + ";" + std::to_string(p.x()) + ";" +
                std::to_string(p.y()) + "\n";
  expect_points(read_text("a.csv", numbered), points);
}

TEST(ReadText, ReadsWhatASpreadsheetSaves) {
  std::string rows = ascii_rows(few_points(), ";", ";12;\"a\"", "\r\n");
  std::replace(rows.begin(), rows.end(), '.', ',');
  expect_points(read_text("a.csv", "\xEF\xBB\xBFX;Y;Z;Intensity;Name\r\n" + rows), few_points());
}

TEST(ReadText, RefusesWhatBreaksOff) {
  EXPECT_EQ(fault_of("a.xyz", ascii_rows(few_points()) + "1.5 2."), Fault::damaged_file);
  EXPECT_EQ(fault_of("a.xyz", ascii_rows(few_points(), " ", " 1 2 3") + "1.5 2.5 3.5 1"),
            Fault::damaged_file);
  EXPECT_EQ(fault_of("a.pts", "5\n" + ascii_rows(few_points())), Fault::damaged_file);
  const std::string many = "36893488147419103232";  // 2^65, found by fuzzing
  EXPECT_EQ(fault_of("a.pts", many + "\n" + ascii_rows(few_points()), "fewer than the " + many),
            Fault::damaged_file);
  EXPECT_EQ(fault_of("a.xyz", "0 0 0\n1 one 1\n2 2 2\n"), Fault::damaged_file);
  EXPECT_EQ(fault_of("a.xyz", "0 0 0\n1 nan 1\n2 2 2\n"), Fault::bad_coordinates);
}

TEST(ReadText, RefusesTextThatHoldsNoPoints) {
  EXPECT_EQ(fault_of("a.txt", "Dear all,\nplease find the scan attached.\nBest\n"),
            Fault::unknown_format);
  EXPECT_EQ(fault_of("a.txt", "\n\n\n"), Fault::unknown_format);
  EXPECT_EQ(fault_of("a.csv", "1 2\n3 4\n5 6\n7 8\n"), Fault::unknown_format);
}

}  // namespace
}  // namespace kerfwright
