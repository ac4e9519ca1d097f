#include "stages.hpp"

#include <algorithm>
#include <cmath>
#include <optional>

namespace kerfwright::sheet {
namespace {

constexpr double on_face = 0.05;  // mm between the lowest wood and the sawn face it lies on

/// Whether something that comes of a cut is sawn on the mill.
bool leads_to_mill(const SawPlan& plan, const PieceTree& tree, const Cut& cut) {
  const auto below = tree.cuts_below(cut.piece);
  return std::any_of(below.begin(), below.end(),
                     [&](const Cut* later) { return is_mill_cut(plan, *later); });
}

std::optional<double> lowest_at(const LogShape& shape, double x, const Eigen::Vector3d& up,
                                const std::vector<Side>& ancestry) {
  std::optional<double> lowest;
  for (const auto& p : piece_section(shape, x, Bark::on, lengthwise(ancestry))) {
    const double height = up.dot(Eigen::Vector3d(x, p.x(), p.y()));
    if (!lowest || height < *lowest) lowest = height;
  }
  return lowest;
}

/// Where the mill's bunks are under a piece whose butt end lies where the log's would. The end of a
/// piece that does not reach a bunk is blocked up.
std::vector<Support> supports_of(const Mill& mill, const Reach& reach) {
  const double length = reach.to - reach.from;
  std::vector<Support> supports;
  for (const double bunk : mill.bunks) {
    supports.push_back({std::clamp(bunk, 0.0, length), 0.0, bunk > length || bunk < 0.0});
  }
  std::sort(supports.begin(), supports.end(),
            [](const Support& a, const Support& b) { return a.place < b.place; });
  if (supports.size() < 2 || supports.back().place - supports.front().place < 1.0) {
    return {{0.0, 0.0, true}, {length, 0.0, true}};
  }
  return supports;
}

/// The face made by an earlier cut on which the piece lies at this height, or null.
const Cut* face_below(const std::vector<Side>& ancestry, const Eigen::Vector3d& up, double height) {
  for (const Side& side : ancestry) {
    const double facing = side.cut->normal.dot(up) * (side.above ? 1.0 : -1.0);
    const double face = side.cut->point.dot(up) + side.cut->kerf / 2;
    if (facing > 0.9999 && std::abs(face - height) < on_face) return side.cut;
  }
  return nullptr;
}

}  // namespace

std::vector<Group> groups_of(const SawPlan& plan, const PieceTree& tree) {
  std::vector<Group> groups;
  for (std::size_t i = 0; i < plan.cuts.size(); ++i) {
    const Cut& cut = plan.cuts[i];
    const bool on_mill = is_mill_cut(plan, cut);
    if (!on_mill && !leads_to_mill(plan, tree, cut)) continue;
    const Setup* setup = setup_of(plan, cut.setup);
    if (setup == nullptr) continue;
    const bool goes_on = !groups.empty() && groups.back().setup == setup &&
                         tree.comes_of(cut.piece, groups.back().piece);
    if (!goes_on) groups.push_back({setup, cut.piece, {}, !on_mill});
    groups.back().cuts.push_back(i);
  }
  return groups;
}

Eigen::Vector3d told_up(const LogShape& shape, const Group& group, const Told& told) {
  const Eigen::Vector3d up = setup_up(*group.setup, shape.length());
  if (group.crosswise) return up;
  const Eigen::Vector3d& normal = told.sawn.cuts[group.cuts.front()].normal;
  return normal.dot(up) > 0.0 ? normal : Eigen::Vector3d(-normal);
}

Bed bed_of(const LogShape& shape, const Mill& mill, const Eigen::Vector3d& up,
           const std::vector<Side>& ancestry) {
  Bed bed;
  bed.reach = reach_of(shape, ancestry);
  bed.supports = supports_of(mill, bed.reach);
  std::vector<double> lowest;
  for (const Support& support : bed.supports) {
    const double x = bed.reach.from + support.place;
    // Where a piece ends in a point there may be no wood right at its end.
    const double inwards = support.place > (bed.reach.to - bed.reach.from) / 2 ? -1.0 : 1.0;
    std::optional<double> height;
    for (int i = 0; i < 50 && !height; ++i) {
      height = lowest_at(shape, x + inwards * 20.0 * i, up, ancestry);
    }
    lowest.push_back(height.value_or(0.0));
  }
  bed.height = *std::min_element(lowest.begin(), lowest.end());
  for (std::size_t i = 0; i < lowest.size(); ++i) bed.supports[i].raise = lowest[i] - bed.height;
  bed.face = face_below(ancestry, up, bed.height);
  return bed;
}

}  // namespace kerfwright::sheet
