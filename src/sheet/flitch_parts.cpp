#include "flitch_parts.hpp"

#include <algorithm>
#include <cmath>

#include "lengths.hpp"

namespace kerfwright::sheet {
namespace {

constexpr double hair = 0.05;  // mm

/// Where the whole flitch begins, along it.
double butt_end(const LogShape& shape, Flitch whole) {
  whole.ancestry.resize(whole.on_mill);
  double low = 1e9;
  for (const bool upper : {false, true}) {
    for (const FaceEdge& edge : face_edges(shape, whole, upper)) low = std::min(low, edge.along);
  }
  return low;
}

}  // namespace

std::map<std::string, std::vector<AcrossCut>> round_across(const LogShape& shape, Told& told) {
  std::map<std::string, std::vector<AcrossCut>> found;
  for (const Flitch& flitch : find_flitches(told.sawn, shape)) {
    if (!flitch.is_part()) continue;
    auto& cuts = found[flitch.off_the_mill()];
    const double zero = butt_end(shape, flitch);
    for (std::size_t i = flitch.on_mill; i < flitch.ancestry.size(); ++i) {
      const int n = flitch.ancestry[i].cut->n;
      const bool known =
          std::any_of(cuts.begin(), cuts.end(), [n](const AcrossCut& cut) { return cut.n == n; });
      if (known) continue;
      Cut& cut = *std::find_if(told.sawn.cuts.begin(), told.sawn.cuts.end(),
                               [n](const Cut& other) { return other.n == n; });
      const Eigen::Vector3d& along = flitch.frame.along;
      const double place = cut.normal.dot(cut.point) / cut.normal.dot(along) - zero;
      cuts.push_back({n, snapped(place, told.sawn.mill.tape_step())});
      cut.point += (cuts.back().place - place) * along;
    }
  }
  for (auto& [piece, cuts] : found) {
    std::sort(cuts.begin(), cuts.end(),
              [](const AcrossCut& a, const AcrossCut& b) { return a.place < b.place; });
  }
  return found;
}

bool lies_in_part(const Flitch& flitch, const Board& board) {
  for (std::size_t i = flitch.on_mill; i < flitch.ancestry.size(); ++i) {
    const Side& side = flitch.ancestry[i];
    for (const auto& corner : corners(board)) {
      const double off = side.cut->normal.dot(corner - side.cut->point);
      if ((side.above ? off : -off) < side.cut->kerf / 2 - hair) return false;
    }
  }
  return true;
}

}  // namespace kerfwright::sheet
