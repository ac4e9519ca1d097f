#pragma once

#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "kerfwright/sheet/saw_steps.hpp"
#include "subject.hpp"

namespace kerfwright::sheet {

/// A distance to write down.
struct Mark {
  Point place;   ///< mm of flitch, what it leads to
  double value;  ///< mm
};

/// The line along which a board, or several end to end, are edged on the upper side as drawn.
struct EdgeLine {
  const Cut* cut;
  Mark start, end;  ///< from the flitch's edge, where the first board begins and the last one ends
};

/// One end of a board as it lies in a flitch, mm of flitch, y down.
struct FlatEnd {
  Point upper, lower;  ///< its corners
  Point middle() const { return (upper + lower) / 2; }
};

/// A board as it lies in a flitch; it may lean.
struct FlatBoard {
  const Board* board;
  Polygon outline;
  FlatEnd start, end;  ///< towards the butt, towards the top
};

/// A flitch flattened, mm, butt to the left, y down, the left of its frame up.
struct FlatFlitch {
  std::vector<FaceEdge> narrow, wide;
  Polygon narrow_outline, wide_outline;
  std::vector<std::pair<Path, double>>
      cuts;  ///< ends and kerf of the stretch in the piece that is sawn
  std::vector<FlatBoard> boards;
  std::vector<EdgeLine> edge_lines;
  std::vector<Mark> end_marks;   ///< boards' ends from the flitch's butt end
  std::string heading, summary;  ///< what to do with it, without and with the edging distances
  Box extent;
};

/// Where a flitch's outermost upper edge as drawn lies, its far edge: a tape hooks there, and with
/// wane that is allowed a board may reach beyond the narrow face.
std::optional<double> far_edge(const FlatFlitch& flat, double along);

/// The edging (`lengthwise`) or cross-cut that makes the face at a point; null where none does.
const Cut* maker_of(const Flitch& flitch, const Point& point, bool lengthwise);

/// @param told where the boards' ends are told to be sawn; a board that is not named is where it is
/// planned
FlatFlitch flatten(const Subject& subject, const Flitch& flitch,
                   const std::vector<Length>& told = {});

}  // namespace kerfwright::sheet
