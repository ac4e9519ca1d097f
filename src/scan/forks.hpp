#pragma once

#include <optional>
#include <vector>

#include "rough_axis.hpp"
#include "search_cloud.hpp"

namespace kerfwright {

/// The second stem of a forked log: its axis from where it leaves the axis of the main stem.
struct SecondStem {
  RoughAxis axis;          ///< the first centre lies on the main stem's axis
  Eigen::Vector3d begin;   ///< on the main stem's bark, where the second starts to stand out
  Eigen::Vector3d crotch;  ///< there as well, where it stands clear
  std::size_t stem = 0;    ///< which of the axes it was
};

/// Whether one of `axes` is a second stem of `axes[log]`: it runs in the same trunk and leaves it,
/// or comes out of its side.
std::optional<SecondStem> find_fork(const std::vector<RoughAxis>& axes, std::size_t log);

/// Of two axes that share a trunk the one that goes on as the thicker and longer stem: `log`, or
/// another.
std::size_t main_stem(const std::vector<RoughAxis>& axes, std::size_t log);

/// The main stem's axis followed once more, on points that the second does not have.
RoughAxis without_stem(const Points& objects, const RoughAxis& main, const SecondStem& second,
                       double leaf);

}  // namespace kerfwright
