#pragma once

#include <gtest/gtest.h>

#include <Eigen/Geometry>
#include <algorithm>
#include <cstdio>
#include <string>
#include <vector>

#include "kerfwright/scan/read_scan.hpp"
#include "scan/scratch.hpp"

namespace kerfwright {

/// Points whose coordinates a float keeps exactly, 2 m across.
inline std::vector<Eigen::Vector3d> few_points() {
  return {{0.5, 0.25, -0.125}, {2.0, 0.0, 0.75}, {0.0, 1.5, 0.0}, {1.0, -0.5, 0.25}};
}

/// The points back in the file's frame and unit.
inline std::vector<Eigen::Vector3d> in_file(const Scan& scan) {
  const Eigen::Affine3d back(scan.file_to_scan.inverse());
  std::vector<Eigen::Vector3d> points;
  for (const Eigen::Vector3f& p : scan.points) points.push_back(back * p.cast<double>());
  return points;
}

inline void expect_points(const Scan& scan, const std::vector<Eigen::Vector3d>& points,
                          double tolerance = 1e-6) {
  const auto found = in_file(scan);
  ASSERT_EQ(found.size(), points.size());
  for (std::size_t i = 0; i < points.size(); ++i)
    EXPECT_LT((found[i] - points[i]).norm(), tolerance) << "point " << i;
}

inline std::string ascii_rows(const std::vector<Eigen::Vector3d>& points,
                              const std::string& between = " ", const std::string& after = "",
                              const std::string& end = "\n") {
  std::string rows;
  for (const Eigen::Vector3d& p : points) {
    char text[128];
    std::snprintf(text, sizeof text, "%.4f%s%.4f%s%.4f", p.x(), between.c_str(), p.y(),
                  between.c_str(), p.z());
    rows += text + after + end;
  }
  return rows;
}

template <typename T>
std::string binary_rows(const std::vector<Eigen::Vector3d>& points, bool big_endian = false,
                        const std::string& after = "") {
  std::string rows;
  for (const Eigen::Vector3d& p : points) {
    for (const double c : {p.x(), p.y(), p.z()}) rows += bytes_of(static_cast<T>(c), big_endian);
    rows += after;
  }
  return rows;
}

/// A PLY header; `more` are the elements behind the vertices.
inline std::string ply_head(const std::string& format, std::size_t points,
                            const std::string& properties, const std::string& more = "") {
  return "ply\nformat " + format + " 1.0\ncomment made by a test\nelement vertex " +
         std::to_string(points) + "\n" + properties + more + "end_header\n";
}

inline const std::string float_xyz = "property float x\nproperty float y\nproperty float z\n";
inline const std::string double_xyz = "property double x\nproperty double y\nproperty double z\n";

inline Scan read_text(const std::string& name, const std::string& bytes,
                      const ReadSettings& settings = {}) {
  return read_scan(scratch_file(name, bytes), settings);
}

/// The fault of a file that is refused; its sentence is one, and names the file.
inline Fault fault_of(const std::string& name, const std::string& bytes,
                      const std::string& words = "") {
  const std::string path = scratch_file(name, bytes);
  const UserError error = error_of([&] { read_scan(path, {}); });
  const std::string sentence = error.what();
  EXPECT_EQ(sentence.find(name), 0U) << sentence;
  EXPECT_TRUE(sentence.ends_with(".")) << sentence;
  EXPECT_LT(sentence.size(), 300U) << sentence;
  EXPECT_NE(sentence.find(words), std::string::npos) << sentence;
  return error.fault();
}

inline bool has_note(const Scan& scan, const std::string& words) {
  return std::any_of(scan.notes.begin(), scan.notes.end(), [&](const std::string& note) {
    return note.find(words) != std::string::npos;
  });
}

}  // namespace kerfwright
