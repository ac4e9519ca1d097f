#pragma once

#include <memory>
#include <vector>

namespace kerfwright::saw {

struct LaneWorth;

/// A product that keeps both natural edges, as a flitch yields it: cut to length, not edged. It is
/// worth rate times its face times the factor of its place, less what cutting it off costs.
struct Slab {
  struct Length {
    double mm = 0;
    double rate = 0;            ///< of a mm2 of face
    double fixed_cost = 0;      ///< of the cross-cut
    double cost_per_width = 0;  ///< and of each mm that it is wide
  };
  int product = 0;         ///< index in the order
  double least_width = 0;  ///< mm, at every place of the piece
  bool boxed_heart = false;
  std::vector<Length> lengths;
  std::shared_ptr<const LaneWorth> by_place;  ///< its grades, and the product
};

}  // namespace kerfwright::saw
