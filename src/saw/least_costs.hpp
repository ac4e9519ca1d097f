#pragma once

#include <vector>

#include "lanes.hpp"

namespace kerfwright::saw {

/// Catalogues with costs that no written plan stays below: a piece needs no cut where it ends at
/// the log's own end, and lanes that fill a cant from face to face need a rip less. The end
/// of a board that slopes is out of square with the log's by its thickness times the slope, so that
/// from some slope on, a lower one for thick boards, it is always cut.
class LeastCosts {
 public:
  explicit LeastCosts(const Catalogue& catalogue);

  /// What holds wherever the sine of the angle to the bed is no less than this, either way.
  const Catalogue& from_slope(double least) const;

 private:
  std::vector<Catalogue> catalogues_;
  std::vector<double> from_slope_;  ///< increasing
};

}  // namespace kerfwright::saw
