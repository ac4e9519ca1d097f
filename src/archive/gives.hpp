#pragma once

#include <string_view>
#include <vector>

#include "kerfwright/archive/sketch.hpp"

namespace kerfwright {

/// What decides most questions of `gives`, and is read much quicker than a sketch.
struct Girths {
  Sketch axis;                     ///< without radii and sigmas
  std::vector<float> least, most;  ///< [station], wood under bark less one sigma about the axis, mm
};

/// @throws std::runtime_error as sketch_from_bytes
Girths girths_from_bytes(std::string_view bytes);

enum class Given { no, yes, unknown };

/// What `gives` would answer, as far as the girths tell.
Given gives_by_girths(const Girths& girths, const PieceSize& piece);

}  // namespace kerfwright
