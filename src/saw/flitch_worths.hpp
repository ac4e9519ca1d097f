#pragma once

#include <functional>
#include <optional>

#include "lanes.hpp"
#include "stack.hpp"

namespace kerfwright::saw {

/// A cant as the second setup sees it: lanes lie between its faces and follow them.
struct CantClip {
  double lean = 0;  ///< lateral mm per mm along the log
  int left = 0;     ///< units, the upper face of the first setup
  int right = 0;    ///< units, the lower face
  double size = 0;  ///< mm, no flitch is wider; 0 = open on one side
  int slack = 0;    ///< units by which the wood is taken wider each side, for a bound
  int zero = 0;     ///< units, where the lateral grid starts
};

/// A cant of `size` mm whose lower face was sawn at `bottom_height` mm of the pose `first`, after a
/// quarter turn. With `spare` mm it holds every such cant whose lower face lies up to that much
/// higher.
CantClip cant_clip(const Pose& first, double bottom_height, double size, double spare = 0);

/// By how much poses differ that are bounded together, on a profile that holds the wood of all.
struct Spread {
  double least_slope = 0;  ///< least size of their slopes
  double lateral = 0;      ///< mm that no point of the pith moves more, across the bed
  double height = 0;       ///< mm, likewise, up or down
  double least_lean = 0;   ///< least size of the leans of a cant's faces
  Row aside{};             ///< units by which each cell's wood is taken wider, between such faces
};

/// Where a lane that boxes the heart must reach to between two heights of a pose, with a margin
/// about the pith over each whole cell.
/// @param slack units by which that is taken wider, for a bound
void find_heart(const Wood& wood, const Pose& pose, double bottom, double top, double lean,
                int slack, Interval& heart);

/// Most that lanes of the whole length can be worth in a clear width, mm.
float whole_lanes(const FlitchClass& flitch, double width);

/// What flitches are worth in one setup: upper bounds at first, made better known on demand.
///
/// `near` rests on this: flitches of one class at the strips b … b + 7 all contain the strips from
/// b + 7 to the top of the lowest, so that what can be edged out of those bounds them all.
class FlitchWorths {
 public:
  /// @param spread where the profile is that of several poses: then all worths are bounds, marks
  /// are not seen and every piece fetches the most there is
  FlitchWorths(const Wood& wood, const Catalogue& catalogue, const Profile& profile, double slope,
               std::optional<CantClip> clip, const std::optional<Spread>& spread = {});

  /// Adds the flitch classes to an empty table, with rough bounds.
  void fill(StackTable& table);

  /// Lowers rough entries that share a block of heights by what their widths alone allow, and
  /// returns the highest bottom that changed; nothing where that tells little.
  std::optional<int> sketch(StackTable& table, int item, int bottom) const;

  /// Makes the entry of a flitch one step better known, and returns the highest bottom that
  /// changed.
  int refine(StackTable& table, Edger& edger, int item, int bottom);

  /// Most that a flitch can be worth between faces so far apart, mm.
  float most_between(const FlitchClass& flitch, double size) const {
    return with_rip_spared(flitch, whole_lanes(flitch, size), size);
  }

  /// The wood of one strip, between the faces where there are some.
  void strip_at(int strip, Interval& rows) const {
    profile_.common(strip, 1, rows);
    if (clip_) clip(rows);
  }

  /// Middle of the shifts, up to `most` strips up or down, over which a stack of flitches is worth
  /// no less than where it lies.
  /// @param worth_of a flitch class with its bottom at a strip
  int middle_of_play(const Stack& stack, int most,
                     const std::function<double(std::size_t item, int bottom)>& worth_of) const;

  /// What the edger is to see of a flitch whose bottom face lies at `strip`.
  FlitchWood wood_at(const FlitchClass& flitch, int strip) const {
    return marked(flitch, strip, 1);
  }

 private:
  FlitchWood seen(const FlitchClass& flitch, int strip, int heights) const;
  FlitchWood marked(const FlitchClass& flitch, int strip, int heights) const;
  void clip(Interval& rows) const;
  bool fills_cant(const FlitchWood& wood) const;
  float with_rip_spared(const FlitchClass& flitch, float worth, double size) const;
  float with_rip_spared(const FlitchClass& flitch, float worth) const {
    return clip_ ? with_rip_spared(flitch, worth, clip_->size) : worth;
  }
  float edged(Edger& edger, std::size_t item, const FlitchWood& wood);

  const Wood& wood_;
  const Catalogue& catalogue_;
  const Profile& profile_;
  double slope_;
  std::optional<CantClip> clip_;
  std::optional<Spread> spread_;
  Row lean_left_{}, lean_right_{};                 ///< what the lean takes off in each cell, units
  std::vector<std::optional<float>> inside_cant_;  ///< [class] worth of a flitch without any wane
};

}  // namespace kerfwright::saw
