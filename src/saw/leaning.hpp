#pragma once

#include <functional>
#include <memory>
#include <vector>

#include "lanes.hpp"

namespace kerfwright::saw {

/// How far lanes may lean, lateral mm per mm along the log; the lean of a cant's faces counts.
inline constexpr double most_lean = 0.1;

/// mm of wood left at each side of a cross-cut's kerf, since its place is told in whole steps of
/// the tape.
inline double cross_cut_spare(double tape_step) { return 0.5 * tape_step + 0.1; }

/// mm of wood left at each side of lanes that lean: their first line is struck by two distances,
/// each rounded to whole steps of the tape, and the flitch may lie higher or lower by a part of the
/// mill's step.
inline double lean_spare(double tape_step) { return tape_step; }

/// The marks of a flitch as lanes of this lean see them.
using MarksAt = std::function<std::shared_ptr<const FlitchMarks>(double lean)>;

/// A stretch of a flitch between cross-cuts, as its lanes see it: places across the flitch are
/// measured square to the lanes, places along it on the lanes.
struct Segment {
  int first_cell = 0, last_cell = 0;
  double scale = 1;            ///< mm along a lane for each mm along the log
  FlitchWood wood;             ///< its lean is that of the lanes; no wood beyond the segment
  std::vector<double> border;  ///< of the cells, what the cross-cuts take taken off
};

/// Index of the border nearest to x; of two as near the further one.
int nearest_border(const std::vector<double>& border, double x);

/// How lanes of a segment may lean beyond the flitch's own lean: not at all, along its centre line,
/// its left or its right edge (all by least squares), or so that the clear width along the whole
/// segment is greatest. Whole tenths of a mm per m, without repeats, 0 first.
std::vector<double> leans_of(const FlitchWood& wood, const std::vector<double>& border, int first,
                             int last);

/// A segment whose lanes lean by `turn` more than the flitch's own.
/// @param room mm that a cross-cut takes off each end that is not the flitch's own
/// @param spare mm of wood left at each side of lanes that lean
/// @param exact_cells whether a cell holds no station but at its borders
Segment segment_of(const FlitchClass& flitch, const FlitchWood& wood,
                   const std::vector<double>& border, int first, int last, double turn, double room,
                   double spare, bool exact_cells, const MarksAt& marks);

}  // namespace kerfwright::saw
