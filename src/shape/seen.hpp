#pragma once

#include <vector>

#include "cells.hpp"

namespace kerfwright {

/// Where enough points lie near to call the surface seen, cell by cell.
struct SeenMap {
  CellGrid grid;
  std::vector<unsigned char> seen;
};

/// A cell is seen where its neighbourhood holds at least three points, and not far fewer than
/// elsewhere.
SeenMap map_seen(const PolarCloud& cloud, const CellMeans& means);

/// The means without cells that are not seen: single points in a hidden stretch are strays or rests
/// more often than bark, and would have it all to themselves.
CellMeans only_seen(const SeenMap& map, CellMeans means);

/// Multiplies the weights of cells near the edge of what was seen by 1 to 0. Noise along the line
/// of sight moves points inwards and towards the hidden side at once: where the points thin out,
/// those found farthest out lie too deep, by a good part of a millimetre, and just these would
/// steer the inference.
CellMeans trusting_edges_less(const PolarCloud& cloud, CellMeans means);

/// `turn` is the angle as a share of the full turn.
bool is_seen(const SeenMap& map, double x, double turn);

}  // namespace kerfwright
