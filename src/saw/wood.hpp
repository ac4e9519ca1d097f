#pragma once

#include <memory>
#include <vector>

#include "kerfwright/shape/log_shape.hpp"

namespace kerfwright::saw {

class WoodMarks;

/// How many cells a log is cut into along its length for planning: as many bits as two machine
/// words.
inline constexpr int max_cells = 128;

/// The solid that plans are made on: what is left of a log when bark and a margin are taken off, as
/// outlines at stations. A cell lies between two borders and is as narrow as its narrowest station.
struct Wood {
  std::vector<double> station_x;  ///< mm from the butt, increasing
  int angles = 0;
  std::vector<float> y, z;  ///< [station * angles + angle] outline points in the log frame, mm
  std::vector<float> bark_y, bark_z;  ///< likewise, outside of the bark
  double reach_over_bark = 0;         ///< mm, greatest distance of the bark from the chord
  std::vector<double> border;         ///< mm, cells + 1 borders, each a station
  std::vector<int> border_station;    ///< index of the station of each border
  std::vector<Eigen::Vector2d> pith;  ///< [border] (y, z) of the pith, mm

  std::shared_ptr<const WoodMarks> marks;  ///< what a person saw in it

  int cells() const { return static_cast<int>(border.size()) - 1; }
  double length() const { return border.back(); }
  /// Whether no cell holds a station but at its borders.
  bool exact_cells() const { return border_station.size() == station_x.size(); }
  /// Greatest distance of any outline point from the chord, mm.
  double reach() const;
};

/// @param margin_sigmas the surface is taken this many of its own sigmas further in
/// @param inset mm, taken off beyond bark and margin
Wood wood_of(const LogShape& shape, double margin_sigmas, double inset);

}  // namespace kerfwright::saw
