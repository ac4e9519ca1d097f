#pragma once

#include <map>

#include "free_edging.hpp"
#include "wood.hpp"

namespace kerfwright::saw {

/// The lane that a piece was ripped from.
const Lane& lane_of(const FlitchClass& flitch, const Piece& piece);

/// The bench on which the flitches of a log are edged; its bounds are shared by all of them.
class Bench {
 public:
  explicit Bench(const Wood& wood) : wood_(wood) {}

  /// The best edging, each piece where it has the most wood around it.
  /// @param pose that the flitch was sawn in
  Edging edge(const FlitchClass& flitch, const FlitchWood& seen, const Pose& pose,
              const Catalogue& catalogue);

 private:
  const Wood& wood_;
  std::map<const Catalogue*, FreeEdger> edgers_;
};

}  // namespace kerfwright::saw
