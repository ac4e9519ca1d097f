#include "bench.hpp"

#include <algorithm>
#include <cmath>

#include "lane_marks.hpp"

namespace kerfwright::saw {
namespace {

/// How far a lane may move left (negative) and right, in units.
struct Play {
  int left = -1000000, right = 1000000;
};

/// The play of a piece that starts `moved` mm further along.
Play play_of(const FlitchClass& flitch, const FlitchWood& wood, const std::vector<double>& border,
             const Piece& piece, double length, double moved) {
  const Lane& lane = lane_of(flitch, piece);
  const double loss = wood.end_loss + lane.width * std::abs(wood.lean);
  const double from = piece.start + moved - 0.5 * loss;
  const double to = piece.start + moved + length + 0.5 * loss;
  Play play;
  for (int c = wood.first_cell; c <= wood.last_cell; ++c) {
    const auto i = static_cast<std::size_t>(c);
    if (border[i + 1] <= from + 1e-6 || border[i] >= to - 1e-6) continue;
    int left = wood.outer.left.at[i];
    int right = wood.outer.right.at[i];
    if (lane.wane >= 0) {
      const Interval& inner = wood.inner[static_cast<std::size_t>(lane.wane)];
      left = std::max<int>(inner.left.at[i], left - lane.wane_units);
      right = std::min<int>(inner.right.at[i], right + lane.wane_units);
    }
    if (lane.boxed_heart) narrow_to_heart(wood, lane, i, left, right);
    play.left = std::max(play.left, left - piece.left);
    play.right = std::min(play.right, right - piece.left - lane.width_units);
  }
  return play;
}

/// Moves the pieces of each run to the place along it where they have the most wood beside them.
void settle_along(std::vector<Piece>& pieces, const FlitchClass& flitch, const FlitchWood& wood,
                  const std::vector<double>& border,
                  const std::vector<std::vector<double>>& lengths) {
  for (std::size_t i = 0; i < pieces.size();) {
    std::size_t end = i;
    while (end < pieces.size() && pieces[end].run == pieces[i].run) ++end;
    double best_moved = 0.0;
    int best_room = -1000000;
    for (const double share : {0.5, 0.0, 1.0}) {
      const double moved = share * pieces[i].spare;
      int room = 1000000;
      for (std::size_t k = i; k < end; ++k) {
        const double length = lengths[static_cast<std::size_t>(pieces[k].product)]
                                     [static_cast<std::size_t>(pieces[k].length)];
        const Play play = play_of(flitch, wood, border, pieces[k], length, moved);
        room = std::min({room, -play.left, play.right});
      }
      if (room > best_room) {
        best_room = room;
        best_moved = moved;
      }
    }
    for (; i < end; ++i) pieces[i].start += best_moved;
  }
}

/// Moves all lanes of a flitch together to the middle of their play.
void settle_across(std::vector<Piece>& pieces, const FlitchClass& flitch, const FlitchWood& wood,
                   const std::vector<double>& border,
                   const std::vector<std::vector<double>>& lengths) {
  Play play;
  for (const Piece& piece : pieces) {
    const double length =
        lengths[static_cast<std::size_t>(piece.product)][static_cast<std::size_t>(piece.length)];
    const Play one = play_of(flitch, wood, border, piece, length, 0.0);
    play.left = std::max(play.left, one.left);
    play.right = std::min(play.right, one.right);
  }
  if (play.left > 0 || play.right < 0) return;
  const int middle = (play.left + play.right) / 2;
  for (Piece& piece : pieces) piece.left += middle;
}

/// Moves the pieces of each segment to where they have the most wood around them.
void settle(Edging& edging, const FlitchClass& flitch, const Catalogue& catalogue) {
  const bool partly_waney = std::any_of(flitch.lanes.begin(), flitch.lanes.end(),
                                        [](const Lane& lane) { return lane.partly_waney(); });
  std::vector<Piece> settled;
  for (std::size_t k = 0; k < edging.segments.size(); ++k) {
    const Segment& segment = edging.segments[k];
    std::vector<Piece> pieces;
    for (const Piece& piece : edging.pieces) {
      if (piece.segment == k) pieces.push_back(piece);
    }
    if (!segment.wood.marks && !partly_waney) {  // else another place is another worth
      settle_along(pieces, flitch, segment.wood, segment.border, catalogue.lengths);
      settle_across(pieces, flitch, segment.wood, segment.border, catalogue.lengths);
    }
    settled.insert(settled.end(), pieces.begin(), pieces.end());
  }
  edging.pieces = std::move(settled);
}

}  // namespace

const Lane& lane_of(const FlitchClass& flitch, const Piece& piece) {
  return *std::find_if(flitch.lanes.begin(), flitch.lanes.end(),
                       [&](const Lane& lane) { return lane.product == piece.product; });
}

Edging Bench::edge(const FlitchClass& flitch, const FlitchWood& seen, const Pose& pose,
                   const Catalogue& catalogue) {
  if (!flitch.slabs.empty()) {  // a slab keeps its edges and follows the log's chord
    Segment whole;
    whole.first_cell = seen.first_cell;
    whole.last_cell = seen.last_cell;
    whole.wood = seen;
    whole.border = wood_.border;
    Edger edger(catalogue, wood_.border);
    Edging edging;
    edging.worth = edger.best(flitch, seen);
    edging.pieces = edger.layout(flitch, seen);
    edging.segments.push_back(std::move(whole));
    return edging;
  }
  auto found = edgers_.find(&catalogue);
  if (found == edgers_.end()) {
    found =
        edgers_.emplace(&catalogue, FreeEdger(catalogue, wood_.border, wood_.exact_cells())).first;
  }
  const HeightGrid& grid = catalogue.grid;
  Edging edging = found->second.best(flitch, seen, [&](double lean) {
    return flitch_marks(wood_, pose, grid.height(seen.strip), grid.step * flitch.strips, lean,
                        catalogue.kerf);
  });
  settle(edging, flitch, catalogue);
  return edging;
}

}  // namespace kerfwright::saw
