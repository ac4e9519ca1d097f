#pragma once

#include <vector>

namespace kerfwright::saw {

/// A stretch of a section, mm; none where left > right.
struct Stretch {
  double left = 1e9, right = -1e9;
};

/// Where a section's outline, turned under the saw, is cut by level lines, many at once.
class LevelLines {
 public:
  /// Between which two heights a stretch is looked for, as indices of `heights`.
  struct Between {
    std::size_t low = 0, high = 0;
  };

  /// The stretch that is wood over all heights between two levels, for each of `asked`: the widest
  /// that both levels share, less what corners of the outline between them take.
  /// @param lateral, aloft corners in mm, counter-clockwise: they climb on the right
  /// @param heights mm, in any order; fastest where their order changes little from call to call
  void stretches(const std::vector<float>& lateral, const std::vector<float>& aloft,
                 const std::vector<double>& heights, const std::vector<Between>& asked,
                 std::vector<Stretch>& out);

 private:
  void sort(const std::vector<double>& heights);
  void walk(const std::vector<float>& lateral, const std::vector<float>& aloft);
  void keep_widest(const std::vector<float>& lateral, const std::vector<float>& aloft,
                   std::size_t level);

  std::vector<std::size_t> order_;    ///< [rank] index of a height
  std::vector<std::size_t> rank_;     ///< [height] its rank
  std::vector<double> sorted_;        ///< [rank] mm
  std::vector<double> left_, right_;  ///< [rank] mm
  std::vector<char> many_;            ///< [rank] crossed more than once on a side
  std::vector<int> head_, next_;      ///< [rank + 1] corners between two levels, as lists
};

}  // namespace kerfwright::saw
