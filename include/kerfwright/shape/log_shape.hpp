#pragma once

#include <Eigen/Core>
#include <cstddef>
#include <vector>

#include "kerfwright/scan/scan.hpp"
#include "kerfwright/shape/marks.hpp"

namespace kerfwright {

/// The log as a model, in the log frame (mm; origin at the centre of the butt end, x along the
/// chord from butt centre to top centre, z up as the log lay when scanned, made square to x).
///
/// The solid between the samples: at a fixed angle the radius, and the axis, run linearly from
/// station to station; within a station the outline is the polygon through the samples.
struct LogShape {
  ScanSource source;
  Eigen::Matrix4d scan_to_log =
      Eigen::Matrix4d::Identity();    ///< from the scan file's own frame and unit
  std::vector<double> stations;       ///< mm, increasing, first 0, last the length of the log
  std::vector<Eigen::Vector2d> axis;  ///< (y, z) of the section's centre at each station, mm
  int angles = 128;  ///< samples round a section; sample j lies at 360 j / angles degrees
                     ///< from +y towards +z
  std::vector<std::vector<float>> radius;  ///< [station][angle] mm, over bark
  std::vector<std::vector<float>> sigma;  ///< [station][angle] mm, one standard deviation of radius
  std::vector<std::vector<unsigned char>> seen;  ///< [station][angle] 1 = points were found there
  double bark = 0.0;  ///< mm, mean thickness of the bark; how thick it is at a station, ask bark_at
  std::vector<double> bark_at_station;  ///< [station] mm; empty = `bark` everywhere
  Marks marks;                          ///< what a person saw
  std::vector<std::string>
      notes;  ///< what was assumed, a sentence each, for the person; not in the file

  double length() const { return stations.back(); }
};

}  // namespace kerfwright
