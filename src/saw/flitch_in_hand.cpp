#include "flitch_in_hand.hpp"

#include <algorithm>
#include <cmath>
#include <limits>

#include "clear_cells.hpp"
#include "frame.hpp"
#include "lane_marks.hpp"
#include "worth.hpp"

namespace kerfwright::saw {
namespace {

constexpr double same_lean = 2e-5;  // mm per mm
constexpr double gain = 1e-9;       // that another lean must bring

double bottom_of(const FlitchPlanes& planes) {
  return planes.low_butt * std::sqrt(1.0 - planes.pose.slope * planes.pose.slope);
}

/// A run is told longer at both of its ends; where it ends with its segment it may not be.
void hold_ends(Segment& segment) {
  const double half = -0.5 * segment.wood.end_loss;
  const auto first = static_cast<std::size_t>(segment.first_cell);
  const auto last = static_cast<std::size_t>(segment.last_cell);
  std::vector<double>& border = segment.border;
  const double middle = 0.5 * (border[first] + border[last + 1]);
  border[first] = std::min({border[first] + half, border[first + 1], middle});
  border[last + 1] = std::max({border[last + 1] - half, border[last], middle});
}

/// Where a person would put the first line: at the furthest that the wood reaches in.
int furthest_in(const Segment& segment) {
  constexpr int any_width = 1;
  const int most =
      furthest_left(segment.wood.outer, segment.first_cell, segment.last_cell, any_width);
  return most == std::numeric_limits<Unit>::min() ? segment.wood.zero : most;
}

/// One flitch on the bench.
class OnBench {
 public:
  OnBench(const FlitchInHand& flitch, const Wood& wood, const Order& order,
          const Catalogue& catalogue)
      : flitch_(flitch), wood_(wood), order_(order), catalogue_(catalogue) {}

  /// A stretch of its cells with lanes that lie as they do best.
  Segment stretch(int first, int last) const {
    Segment best;
    double most = -1.0;
    for (const double lean : leans(first, last)) {
      Segment segment = leaning(first, last, lean);
      const double worth = Edger(catalogue_, segment.border).best(flitch_.made, segment.wood);
      if (worth <= most + gain) continue;
      most = worth;
      best = std::move(segment);
    }
    return best;
  }

  EdgedInHand laid_out(const std::vector<Segment>& segments, const Remaining& remaining) const {
    EdgedInHand edged;
    Remaining still = remaining;
    for (const Segment& segment : segments) {
      Edger edger(catalogue_, segment.border);
      for (const Piece& piece : edger.layout(flitch_.made, segment.wood)) {
        auto& left = still[static_cast<std::size_t>(piece.product)];
        if (left && *left <= 0) continue;
        const double value = value_of(piece, segment);
        if (value <= 0.0) continue;
        if (left) --*left;
        edged.value += value;
        edged.pieces.push_back(piece);
        edged.values.push_back(value);
      }
    }
    return edged;
  }

 private:
  /// Without repeats. A slab keeps its edges and follows the log's chord.
  std::vector<double> leans(int first, int last) const {
    if (!flitch_.made.slabs.empty()) return {0.0};
    std::vector<double> tried = leans_of(flitch_.seen, wood_.border, first, last);
    for (const double planned : flitch_.leans) {
      const bool known = std::any_of(tried.begin(), tried.end(), [&](double lean) {
        return std::abs(lean - planned) < same_lean;
      });
      if (!known) tried.push_back(planned);
    }
    return tried;
  }

  Segment leaning(int first, int last, double lean) const {
    const FlitchPlanes& planes = flitch_.planes;
    const MarksAt marks = [&](double more) {
      return flitch_marks(wood_, planes.pose, bottom_of(planes), planes.high_butt - planes.low_butt,
                          planes.lean + more, catalogue_.kerf);
    };
    constexpr double no_spare = 0.0;
    Segment segment = segment_of(flitch_.made, flitch_.seen, wood_.border, first, last, lean,
                                 0.5 * catalogue_.kerf, no_spare, wood_.exact_cells(), marks);
    const bool along_face = lean == 0.0 && (planes.left || planes.right);
    if (!along_face) segment.wood.zero = furthest_in(segment);
    hold_ends(segment);
    return segment;
  }

  double value_of(const Piece& piece, const Segment& segment) const {
    const Product& product = order_.products[static_cast<std::size_t>(piece.product)];
    const auto at = static_cast<std::size_t>(piece.length);
    const double full = clear_value(product, at, piece.width);
    if (!segment.wood.marks) return full;
    const FlitchPlanes& planes = flitch_.planes;
    const Frame frame(planes.pose);
    const double turn = segment.wood.lean;  // more than the flitch's own
    const double norm = std::hypot(1.0, turn);
    const double x = piece.start / segment.scale;
    Board board;
    board.thickness = product.thickness;
    board.width = product.live_edge ? piece.width : product.width;
    board.length = product.lengths[at];
    board.along = (frame.along + turn * frame.across) / norm;
    board.across = (frame.across - turn * frame.along) / norm;
    board.up = frame.up;
    const double lateral =
        segment.scale * static_cast<double>(piece.left) / units_per_mm + (planes.lean + turn) * x;
    const double low = planes.low_butt + planes.low_rise * x;
    board.corner =
        Eigen::Vector3d(x, 0.0, 0.0) + lateral * frame.across + low * section_up(planes.pose.roll);
    const PieceWorth worth = worth_of(board, product, *wood_.marks);
    return worth.sold ? worth.factor * full : 0.0;
  }

  const FlitchInHand& flitch_;
  const Wood& wood_;
  const Order& order_;
  const Catalogue& catalogue_;
};

}  // namespace

EdgedInHand edged_in_hand(const FlitchInHand& flitch, const Wood& wood, const Order& order,
                          const Catalogue& catalogue, const Remaining& remaining) {
  const OnBench bench(flitch, wood, order, catalogue);
  const int first = flitch.seen.first_cell;
  const int last = flitch.seen.last_cell;
  EdgedInHand whole = bench.laid_out({bench.stretch(first, last)}, remaining);
  if (flitch.places.empty()) return whole;
  std::vector<Segment> parts;
  int from = first;
  const auto part_to = [&](int end) {
    const int to = std::min(last + 1, end);
    if (from < to) parts.push_back(bench.stretch(from, to - 1));
    from = std::max(from, to);
  };
  for (const double place : flitch.places) part_to(nearest_border(wood.border, place));
  part_to(last + 1);
  EdgedInHand crossed = bench.laid_out(parts, remaining);
  return crossed.value > whole.value ? crossed : whole;
}

double untold_ends(const FlitchClass& made, const FlitchWood& seen, const Wood& wood) {
  // Where marks, wane or live edges tell what a piece is worth, its place is told and not its run.
  const bool by_runs = !seen.marks && made.slabs.empty() &&
                       std::none_of(made.lanes.begin(), made.lanes.end(),
                                    [](const Lane& lane) { return lane.partly_waney(); });
  return by_runs ? wood.length() / wood.cells() : 0.0;
}

}  // namespace kerfwright::saw
