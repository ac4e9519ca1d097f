#pragma once

#include <functional>
#include <optional>

#include "flitch_worths.hpp"
#include "lanes.hpp"
#include "stack.hpp"

namespace kerfwright::saw {

/// Sawn faces between which a piece lies, as a pose sees them; what has none is bark.
struct Lying {
  std::optional<double> floor, ceiling;  ///< mm, heights of faces parallel to the bed
  std::optional<double> left, right;     ///< mm, where faces square to the bed lie at the butt
  double lean = 0;                       ///< of those, lateral mm per mm along the log
  double width = 0;                      ///< mm between both, square to them

  bool has_sides() const { return left || right; }
};

/// How the faces at the sides bound lanes; none where both are bark.
std::optional<CantClip> clip_of(const Lying& lying, double kerf);

/// Leaves in a stack only what lies between floor and ceiling. What ends at one of them needs no
/// cut there; a cut that would only graze one is none. A face counts as a level of the grid where
/// it lies on one.
/// @param thickness mm, of an item
void keep_between(const Lying& lying, const HeightGrid& grid, double kerf,
                  const std::function<double(std::size_t)>& thickness, StackTable& table);

}  // namespace kerfwright::saw
