#pragma once

#include <map>
#include <utility>
#include <vector>

#include "leaning.hpp"

namespace kerfwright::saw {

/// Pieces in segments that may be cross-cut from each other, each with lanes that lean together.
struct Edging {
  double worth = 0;
  std::vector<Segment> segments;  ///< from butt to top, together the whole flitch
  std::vector<Piece> pieces;      ///< by segment, then as Edger lays them out
};

inline constexpr int most_segments = 3;

/// Edges flitches as a person does with the flitch in hand: lanes that lean as suits them, and
/// cross-cut in two or three before it is ripped where that is worth more.
///
/// Segments end at places about 150 mm apart, at most 16 gaps, and lean as leans_of says. Exact for
/// that family, lazily: the worth of a segment is bounded from above until the best way of cutting
/// uses it. Of equal ways the one with fewer segments, then with the smaller place in the list of
/// leans.
class FreeEdger {
 public:
  /// @param exact_cells whether no cell holds a station but at its borders
  FreeEdger(const Catalogue& catalogue, const std::vector<double>& border, bool exact_cells)
      : catalogue_(catalogue), border_(border), exact_cells_(exact_cells) {}

  /// @param marks asked where the flitch has marks
  Edging best(const FlitchClass& flitch, const FlitchWood& wood, const MarksAt& marks = {});

  /// No edging of this family is worth more.
  double bound(const FlitchClass& flitch, const FlitchWood& wood);

  /// Borders at which a flitch may be cross-cut, its ends among them.
  std::vector<int> places(const FlitchWood& wood) const;

  /// Of cross-cutting the flitch at a border.
  double cut_cost(const FlitchClass& flitch, const FlitchWood& wood, int place) const;

  /// mm that a cross-cut takes off the segment beside it.
  double room() const { return 0.5 * catalogue_.kerf + cross_cut_spare(catalogue_.tape_step); }

 private:
  class Ways;
  double most_in(const FlitchClass& flitch, const FlitchWood& wood, int first, int last);
  const std::vector<float>& packed(const FlitchClass& flitch, double length);

  const Catalogue& catalogue_;
  const std::vector<double>& border_;
  bool exact_cells_;
  std::map<std::pair<const FlitchClass*, int>, std::vector<float>>
      packed_;  ///< by length, [mm of width]
};

}  // namespace kerfwright::saw
