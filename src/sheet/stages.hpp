#pragma once

#include <cstddef>
#include <string>
#include <vector>

#include "kerfwright/sheet/saw_steps.hpp"
#include "pieces.hpp"

/// Which piece lies under the saw when, and on what.
namespace kerfwright::sheet {

/// The cuts that one piece gets in one setup, in sawing order: indices into the plan's cuts.
struct Group {
  const Setup* setup = nullptr;
  std::string piece;
  std::vector<std::size_t> cuts;
  bool crosswise = false;  ///< the log is cut to length before it is sawn
};

/// Cuts on the mill, and the cuts across that shorten what is sawn there later.
std::vector<Group> groups_of(const SawPlan& plan, const PieceTree& tree);

/// How a piece rests on the mill.
struct Bed {
  double height = 0;  ///< of the bed in the direction up, log frame
  std::vector<Support> supports;
  const Cut* face = nullptr;  ///< that made the face it rests on, if it rests on one
  Reach reach;
};

Bed bed_of(const LogShape& shape, const Mill& mill, const Eigen::Vector3d& up,
           const std::vector<Side>& ancestry);

/// A plan as it is sawn with the numbers of the sheet: cuts and boards are moved to where those
/// numbers put them. Its tree points into it.
class Told {
 public:
  explicit Told(const SawPlan& plan) : sawn(plan), tree(sawn) {}
  Told(const Told&) = delete;
  Told& operator=(const Told&) = delete;
  SawPlan sawn;
  PieceTree tree;
};

/// The direction up in which a group's cuts are told: but for rounding that of its setup.
Eigen::Vector3d told_up(const LogShape& shape, const Group& group, const Told& told);

/// Rounds the heights of a group's cuts to the mill's steps, over the bed on which the piece then
/// lies, and moves in `told` the cuts and whatever comes of the piece. Layers that hold boards
/// never get thinner. Returns the heights, one a cut.
std::vector<double> told_heights(const SawPlan& plan, const LogShape& shape, const Group& group,
                                 Told& told);

}  // namespace kerfwright::sheet
