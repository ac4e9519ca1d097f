#pragma once

#include <array>
#include <memory>
#include <optional>
#include <vector>

#include "flitch_worths.hpp"
#include "pose_search.hpp"
#include "search.hpp"

/// Sawing around: the log is turned by a right angle whenever the next face is worth more.
///
/// Two directions are square to each other; each has two faces, one on each side. A face is sawn
/// from outside in, with that face up. What is left is a block between four faces, some of them
/// still bark; a flitch lies between those faces of the other direction that were sawn before it.
/// What is left when no cut pays any more is the heart piece, one flitch to be edged, or waste.
namespace kerfwright::saw {

/// What is left of the wood in one direction: the levels at which the blade's upper side ran. On
/// the upper side wood ends a kerf below the level, on the lower side at it.
struct Between {
  std::optional<int> lower, upper;  ///< none: not sawn yet
};

/// Faces of the other direction as one direction sees them.
struct AroundFaces {
  CantClip clip;
  std::optional<double> left, right;  ///< mm, where they lie at the butt; none: bark
};

/// @param direction of what lies between the faces; the poses are those of both
AroundFaces around_faces(const std::array<Pose, 2>& poses, int direction, const Between& other,
                         const Catalogue& catalogue);

/// The worth of flitches and the cost of cuts in two directions that are square to each other.
/// Everything is worked out once and kept.
class AroundWorths {
 public:
  /// @param first pose with the first direction up
  /// @param slope of the second direction
  AroundWorths(const Wood& wood, const Catalogue& catalogue, const Pose& first, double slope);

  const Pose& pose(int direction) const { return side(direction).pose; }
  const Catalogue& catalogue() const { return catalogue_; }

  /// What is left between faces of the other direction, as this direction sees it; none where it
  /// is bark on both sides.
  std::optional<CantClip> clip(int direction, const Between& other) const;

  /// An upper bound on what the edger gives, the same for every place between faces of one width.
  float bound(int direction, int item, int bottom, const Between& other);

  /// What the edger gives.
  float exact(int direction, int item, int bottom, const Between& other);

  /// [level] cost of a cut whose upper side is there.
  std::vector<float> cut_costs_between(int direction, const Between& other) const;

  /// Levels of the best stack that holds a piece of so many strips at `bottom`, between faces of
  /// the other direction.
  std::vector<int> levels_about(int direction, const StackItem& heart, int bottom,
                                const Between& other);

 private:
  struct Side {
    Pose pose;
    std::unique_ptr<Profile> profile;
    std::unique_ptr<FlitchWorths> open, wide;  ///< between bark; the same along the sawn faces
    StackTable table;                          ///< of the open ones
    std::vector<float> costs, costs_if_narrow;
    std::vector<std::vector<float>> most;  ///< [class][strip] of the wide ones, -1 = not known
  };
  Side& side(int direction) { return sides_[static_cast<std::size_t>(direction)]; }
  const Side& side(int direction) const { return sides_[static_cast<std::size_t>(direction)]; }

  const Wood& wood_;
  const Catalogue& catalogue_;
  Edger edger_;
  std::array<Side, 2> sides_;
};

/// Levels at which each direction may be cut, increasing.
using Ladders = std::array<std::vector<int>, 2>;

struct AroundLimits {
  double turn_cost = 0;   ///< of turning another face up
  double lowest_cut = 0;  ///< mm, least thickness of what lies on a sawn face below a cut
};

/// The best way to saw around with cuts at the levels of the ladders alone: which face next, how
/// deep, what comes off, and what stays as the heart. Only ways count that take a flitch in each
/// direction: all others are sawn through and through. Exact, by dynamic programming over what is
/// left (four levels), from the smallest block to the log; worths are bounds at first and made
/// exact where the best way uses them.
/// @return worth 0 and no steps where nothing is worth more than `cutoff`
AroundPlan best_around(AroundWorths& worths, const Ladders& ladders, const AroundLimits& limits,
                       double cutoff);

/// Sawing around, seeded by the poses and sizes of the best plans so far: hearts about the pith and
/// in the middle of their cants, ladders of the stacks that are best about each heart; then heart
/// and turn are moved while that pays. Exact for each heart and its ladders, not in the choice of
/// them.
std::vector<LogPlan> search_around(const Wood& wood, const Catalogue& catalogue,
                                   const SearchSpace& space, const std::vector<LogPlan>& seeds,
                                   double worth_to_beat);

}  // namespace kerfwright::saw
