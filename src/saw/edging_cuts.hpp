#pragma once

#include <string>

#include "cut_book.hpp"
#include "emit.hpp"

namespace kerfwright::saw {

/// Writes the cuts by hand that make boards of a flitch that is off the mill, and the boards:
/// across it first where it has segments, then lane by lane, each lane cut to length.
/// @param pose it was sawn in
/// @param length mm of log
/// @param square_ends whether the log's own ends may be the ends of boards
void edge_flitch(CutBook& book, const std::string& name, const FlitchLayout& flitch,
                 const Pose& pose, double length, bool square_ends);

}  // namespace kerfwright::saw
