#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "kerfwright/shape/log_shape.hpp"

namespace kerfwright {

/// A log in small: sections evenly from end to end, enough to ask of thousands of logs in a moment
/// whether a piece lies in them and whether two are the same. Frame as in LogShape, lengths in mm.
struct Sketch {
  double length = 0;
  int stations = 0, angles = 0;
  std::vector<float> axis_y, axis_z;  ///< [station]
  std::vector<float> bark;            ///< [station]
  std::vector<float> radius;          ///< [station * angles + angle], over bark
  std::vector<float> sigma;           ///< likewise, one standard deviation
};

/// As fine as the archive keeps it.
Sketch sketch_of(const LogShape& shape, int stations = 24, int angles = 32);

/// The sketch to a tenth of a millimetre, as bytes that mean the same on every machine.
std::string sketch_bytes(const Sketch& sketch);

/// @throws std::runtime_error where the bytes are no sketch
Sketch sketch_from_bytes(std::string_view bytes);

/// The greatest width under bark that any section has between two jaws, mm; no piece is wider.
double widest(const Sketch& sketch);

/// A piece, as sawn, mm.
struct PieceSize {
  double thickness = 0, width = 0, length = 0;
};

/// Whether the piece lies in the wood under bark less one sigma, by a quick test: centred on the
/// straight line that best follows the log's axis over some stretch of it, in one of 24 turns, held
/// against the sketch's sections only. It misses pieces that lie aside of the axis, and knows
/// neither marks nor hollows between its sections; a plan says for certain.
bool gives(const Sketch& sketch, const PieceSize& piece);

/// How unlike two logs are once one is turned about its axis, either end first, so that they agree
/// best: the root mean square of the distances between their surfaces over bark, each as a multiple
/// of what is expected of two fits of one log (both sigmas, and 1.5 mm for what sections of one
/// sketch miss of the other's), the fifth of the surface where they are farthest apart left out.
/// Not above 1 for most pairs of scans of one log. Infinite where the lengths differ by more than 2
/// %.
double unlikeness(const Sketch& one, const Sketch& other);

}  // namespace kerfwright
