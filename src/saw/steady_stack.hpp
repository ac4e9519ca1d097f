#pragma once

#include <vector>

#include "search.hpp"
#include "setting_errors.hpp"

namespace kerfwright::saw {

/// The stack that gives the most in the mean when a pose is set with errors.
///
/// What a flitch is worth at a height is taken as the mean over poses that are off by the errors of
/// turn and tilt, each on a surface of its own, and over heights, which the errors of lifts and
/// blade blur. Means add up over a stack, so that the dynamic programme over the blurred worths is
/// exact for the poses that were drawn. Cants stay where they are and are stacked anew likewise.
class SteadyStacks {
 public:
  /// @param wood gives cells and marks, `shape` the surface and how far it may be off; wood and
  /// catalogue must outlive this
  SteadyStacks(const LogShape& shape, const Wood& wood, const Catalogue& catalogue,
               const SettingErrors& errors);

  /// The plan's pose and cants with steadier stacks; worth is the mean. A split, and what is sawn
  /// around, stay as they are.
  LogPlan steadied(LogPlan plan) const;

 private:
  /// How far off one sawing is.
  struct Off {
    double turn = 0;    ///< radians
    double rise = 0;    ///< mm, of the top against the butt
    double height = 0;  ///< mm
  };
  /// A cant that is sawn after a quarter turn, by where it was left.
  struct Cant {
    Pose first;
    double bottom = 0, size = 0;
  };
  StackTable table_of(const Pose& pose, const Cant* cant) const;
  void add_worths(const Pose& pose, const Cant* cant, std::size_t draw, int stride,
                  std::vector<std::vector<double>>& sums) const;
  Pose off_by(const Pose& pose, const Off& off) const;

  const Wood& wood_;
  const Catalogue& catalogue_;
  double blur_;              ///< mm, one standard deviation of the heights
  std::vector<Off> offs_;    ///< [draw]
  std::vector<Wood> woods_;  ///< [draw]
};

}  // namespace kerfwright::saw
