#pragma once

#include <vector>

#include "lanes.hpp"

namespace kerfwright::saw {

/// An upper bound on what slabs of the class can bring out of such wood.
float slab_bound(const FlitchClass& flitch, const FlitchWood& wood,
                 const std::vector<double>& border);

/// The best slabs end to end along a flitch, a kerf between, by dynamic programming over places of
/// whole mm from its butt end:
///   U(x) = max(U(x + 1), max over products and lengths l that may lie at x of worth(x, l) +
///   U(x + l + kerf)).
/// A slab may lie where every cell that it touches is as wide as its product asks, under bark and
/// over the whole thickness, and nothing in it is never sold. It is paid by the mean of those
/// widths and the factor of the worst cell times the mean of figure and rings, as boards are. Of
/// equal ways the one that begins nearest to the butt wins.
/// @param pieces if given, the slabs from butt to top
/// @return what they are worth, never less than 0
double best_slabs(const FlitchClass& flitch, const FlitchWood& wood,
                  const std::vector<double>& border, double kerf,
                  std::vector<Piece>* pieces = nullptr);

}  // namespace kerfwright::saw
