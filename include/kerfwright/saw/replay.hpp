#pragma once

#include <string>
#include <vector>

#include "kerfwright/saw/saw_plan.hpp"
#include "kerfwright/shape/log_shape.hpp"

namespace kerfwright {

struct ReplaySettings {
  double tolerance =
      0.1;  ///< mm; how far a face may lie from the cut that makes it, or a corner outside
            ///< the wood (rounding of the files, not wood: boards vary by millimetres)
};

/// What came of sawing a plan on paper.
struct Replay {
  bool complete = true;                ///< every board is there
  std::vector<int> missing;            ///< ids of the boards that are not
  std::vector<std::string> sentences;  ///< what is wrong, a sentence each
  double value_found = 0;              ///< what the boards that are there fetch
};

/// Saws the plan cut by cut on the shape and looks for every board: inside the under-bark solid
/// (wane of its product apart), on its own side of every cut in its ancestry by half a kerf, each
/// face made by a cut or the log's own end.
Replay replay(const SawPlan& plan, const LogShape& shape, const ReplaySettings& settings = {});

/// How deep in the wood under bark a section of a board lies, at its worst, mm; negative outside.
/// The wood must hold the full width on the part of the thickness that wane may not touch, and the
/// full thickness on the part of the width that it may not touch.
/// @param a mm from the board's near end
double section_depth(const Board& board, const Wane& wane, const LogShape& shape, double a);

}  // namespace kerfwright
