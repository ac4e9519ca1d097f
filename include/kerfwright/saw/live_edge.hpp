#pragma once

#include <algorithm>
#include <optional>
#include <vector>

#include "kerfwright/saw/saw_plan.hpp"
#include "kerfwright/shape/log_shape.hpp"

/// A slab with live edges as it is: two sawn faces, two sawn ends, and between them whatever the
/// log has. Its board's box is as wide as the slab is in the mean, centred on the mean of its
/// middle line, and runs along the log's chord as seen in the plane of the slab.
namespace kerfwright {

/// How far the wood under bark reaches across a slab in a section square to it, mm from the
/// board's corner.
struct LiveSection {
  double lower_left = 0, lower_right = 0, upper_left = 0, upper_right = 0;

  /// Where both faces have wood.
  double left() const { return std::max(lower_left, upper_left); }
  double right() const { return std::min(lower_right, upper_right); }
  /// Width of the narrower face.
  double narrower() const { return std::min(lower_right - lower_left, upper_right - upper_left); }
  /// How far either face reaches.
  double outer_left() const { return std::min(lower_left, upper_left); }
  double outer_right() const { return std::max(lower_right, upper_right); }
};

/// The section `a` mm from the near end; nothing where a face has no wood. Where a face has wood
/// in several stretches, as across a flute, the widest counts.
std::optional<LiveSection> live_section(const Board& board, const LogShape& shape, double a);

/// The corners of that section in the log frame, round it from the lower left one; none where a face
/// has no wood.
std::vector<Eigen::Vector3d> live_corners(const Board& board, const LogShape& shape, double a);

/// What a slab is from end to end, looked at every 10 mm.
struct LiveEdges {
  double least_width = 0;                ///< mm, of the narrower face
  double mean_left = 0, mean_right = 0;  ///< mm from the corner, of what both faces share
  double mean_width() const { return mean_right - mean_left; }
};
LiveEdges live_edges(const Board& board, const LogShape& shape);

/// By how much a slab misses what it claims, mm, 0 where it does not: narrower somewhere than its
/// product's least width, or its mean edges inside its box.
double live_shortfall(const Board& board, const Product& product, const LogShape& shape);

}  // namespace kerfwright
