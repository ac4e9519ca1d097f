#include "lane_steps.hpp"

#include <Eigen/Geometry>
#include <algorithm>
#include <cmath>
#include <set>

#include "board_fits.hpp"
#include "flitch_parts.hpp"
#include "kerfwright/trade/scaling.hpp"
#include "lengths.hpp"

namespace kerfwright::sheet {
namespace {

constexpr double same = 0.5;        // mm between lines that are one
constexpr double most_spare = 3.0;  // mm; more is no rounding
// mm; places along a flitch that are easy to find
constexpr double tape_places = 100.0;
constexpr double tape_places_inches = 4 * mm_per_inch;

/// A line along a flitch as drawn (y down): y at x.
struct Line {
  Point from, to;
  double at(double x) const {
    return from.y() + (x - from.x()) / (to.x() - from.x()) * (to.y() - from.y());
  }
  /// The line at a distance below it, as drawn.
  Line below(double distance) const {
    const Point run = (to - from).normalized();
    const Point down(-run.y(), run.x());
    return {from + distance * down, to + distance * down};
  }
};

/// A lane being told.
struct Strip {
  std::vector<const FlatBoard*> boards;  // from butt to top
  const Cut* upper = nullptr;            // that make its edges; null where no cut on the bench does
  const Cut* lower = nullptr;
  bool upper_face = false, lower_face = false;  // edges that the mill has sawn
  bool live = false;                            // both edges are the log's own
  Line planned;                                 // its upper edge
  Lane lane;
  Line told;

  double width() const { return boards.front()->board->width; }
};

/// The width across a flitch: with a board on edge in it, that is the board's thickness.
double width_of(const FlatBoard& board) { return (board.start.lower - board.start.upper).norm(); }

/// Whether a cut on the mill made the edge at a point of a flitch as drawn.
bool is_sawn_edge(const Flitch& flitch, const Point& point) {
  for (const Side& side : flitch.ancestry) {
    const Cut& cut = *side.cut;
    const Eigen::Vector2d normal(cut.normal.dot(flitch.frame.along),
                                 -cut.normal.dot(flitch.frame.left));
    if (std::abs(normal.y()) < 0.9) continue;
    const double middle = (flitch.low + flitch.high) / 2;
    const double offset = cut.normal.dot(cut.point) - cut.normal.dot(flitch.frame.up) * middle;
    if (std::abs(std::abs(normal.dot(point) - offset) - cut.kerf / 2) < same) return true;
  }
  return false;
}

Strip strip_of(const Flitch& flitch, const FlatBoard& board) {
  Strip strip;
  strip.boards = {&board};
  strip.planned = {board.start.upper, board.end.upper};
  strip.upper = maker_of(flitch, (board.start.upper + board.end.upper) / 2, true);
  strip.lower = maker_of(flitch, (board.start.lower + board.end.lower) / 2, true);
  strip.upper_face = strip.upper == nullptr && is_sawn_edge(flitch, board.start.upper);
  strip.lower_face = strip.lower == nullptr && is_sawn_edge(flitch, board.start.lower);
  strip.lane.width = width_of(board);
  return strip;
}

/// Boards that lie end to end between the same two lines; slabs between the same natural edges.
std::vector<Strip> strips_of(const Flitch& flitch, const FlatFlitch& flat, const Order& order) {
  std::vector<const FlatBoard*> boards;
  for (const FlatBoard& board : flat.boards) boards.push_back(&board);
  std::stable_sort(boards.begin(), boards.end(), [](const FlatBoard* a, const FlatBoard* b) {
    return a->start.middle().x() < b->start.middle().x();
  });
  std::vector<Strip> strips;
  for (const FlatBoard* board : boards) {
    const bool slab = is_slab(*board->board, order);
    const auto home = std::find_if(strips.begin(), strips.end(), [&](const Strip& strip) {
      if (slab || strip.live) return slab && strip.live;
      return std::abs(strip.planned.at(board->start.upper.x()) - board->start.upper.y()) < same &&
             std::abs(strip.planned.at(board->end.upper.x()) - board->end.upper.y()) < same &&
             std::abs(strip.lane.width - width_of(*board)) < same;
    });
    if (home == strips.end()) {
      strips.push_back(strip_of(flitch, *board));
      strips.back().live = slab;
    } else {
      home->boards.push_back(board);
      home->planned.to = board->end.upper;
    }
  }
  return strips;
}

/// The place of a lane's edge that a tape can find: the flitch has its far edge there.
std::optional<TapePoint> tape_point(const FlatFlitch& flat, const Line& line, double place) {
  const double x = flat.extent.low.x() + place;
  const auto edge = far_edge(flat, x);
  if (!edge) return std::nullopt;
  return TapePoint{place, line.at(x) - *edge};
}

/// Two places to measure at, as far apart as the lane allows, first those at whole decimetres or
/// every 4 inches.
std::array<TapePoint, 2> tape_points(const FlatFlitch& flat, const Line& line, const Mill& mill) {
  const double easy = mill.inches ? tape_places_inches : tape_places;
  const double tape = mill.tape_step();
  const double zero = flat.extent.low.x();
  const double from = std::max(0.0, line.from.x() - zero);
  const double to = line.to.x() - zero;
  std::vector<TapePoint> known;
  for (double place = std::ceil(from / easy) * easy; place <= to; place += easy) {
    if (const auto point = tape_point(flat, line, place)) known.push_back(*point);
  }
  if (known.size() >= 3) return {known.front(), known.back()};
  known.clear();
  for (double place = std::ceil(from / tape) * tape; place <= to; place += tape) {
    if (const auto point = tape_point(flat, line, place)) known.push_back(*point);
  }
  if (known.size() >= 2) return {known.front(), known.back()};
  return {TapePoint{from, 0.0}, TapePoint{to, 0.0}};
}

/// Where two distances put a line.
std::optional<Line> line_through(const FlatFlitch& flat, const std::array<TapePoint, 2>& points) {
  std::array<Point, 2> ends;
  for (std::size_t i = 0; i < 2; ++i) {
    const double x = flat.extent.low.x() + points[i].place;
    const auto edge = far_edge(flat, x);
    if (!edge) return std::nullopt;
    ends[i] = {x, *edge + points[i].distance};
  }
  return Line{ends[0], ends[1]};
}

/// A board moved within its flitch, so that its upper edge lies on a line and it starts at `from`.
Board moved(const Flitch& flitch, const FlatFlitch& flat, const FlatBoard& board, const Line& line,
            double from) {
  const auto angle = [](const Point& run) { return std::atan2(-run.y(), run.x()); };
  const Point middle = board.start.middle();
  const double turn = angle(line.to - line.from) - angle(board.end.upper - board.start.upper);
  const Eigen::Rotation2Dd turned(-turn);  // as drawn, y down
  Point upper = middle + turned * (board.start.upper - middle);
  const double along = flat.extent.low.x() + from - upper.x();
  upper.x() += along;
  const double down = line.at(upper.x()) - upper.y();
  const Frame& frame = flitch.frame;
  const Eigen::Vector3d pivot = middle.x() * frame.along - middle.y() * frame.left +
                                frame.up * frame.up.dot(board.board->corner);
  const Eigen::AngleAxisd rotation(turn, frame.up);
  Board result = *board.board;
  result.corner =
      rotation * (result.corner - pivot) + pivot + along * frame.along - down * frame.left;
  result.along = rotation * result.along;
  result.across = rotation * result.across;
  result.up = rotation * result.up;
  return result;
}

/// How far a lane's numbers are from the nearest step of the tape, mm.
struct Nudge {
  double first = 0, second = 0, along = 0;
  double size() const {
    return std::abs(first) + std::abs(second) + std::abs(first - second) + std::abs(along);
  }
};

/// What is tried where the nearest step of the tape loses a board, the smallest first.
std::vector<Nudge> nudges(bool across, double tape) {
  constexpr int most = 3;
  std::vector<Nudge> all;
  for (int along = -most; along <= most; ++along) {
    for (int first = across ? -most : 0; first <= (across ? most : 0); ++first) {
      for (int second = across ? -most : 0; second <= (across ? most : 0); ++second) {
        all.push_back({tape * first, tape * second, tape * along});
      }
    }
  }
  std::stable_sort(all.begin(), all.end(),
                   [](const Nudge& a, const Nudge& b) { return a.size() < b.size(); });
  return all;
}

/// Tells a flitch lane by lane.
class Bench {
 public:
  Bench(const Subject& subject, const Flitch& flitch)
      : subject_(subject), flitch_(flitch), flat_(flatten(subject, flitch)) {
    strips_ = strips_of(flitch, flat_, subject.plan.order);
    // A tape in inches does not show every width: what is told is no less.
    for (Strip& strip : strips_) {
      if (mill().inches && !strip.live) strip.lane.width = snapped_up(strip.lane.width, tape());
    }
  }

  FlitchTold tell() {
    FlitchTold told;
    told.steps.letter = flitch_.letter;
    told.steps.whole = flitch_.whole;
    told.steps.thickness = flitch_.high - flitch_.low;
    if (const Cut* cut = flitch_.cut_off()) told.steps.cut = cut->n;
    std::vector<bool> done(strips_.size(), false);
    for (std::size_t count = 0; count < strips_.size(); ++count) {
      const std::size_t i = next_strip(done);
      round_lengths(strips_[i]);
      settle(strips_[i]);
      done[i] = true;
      order_.push_back(i);
      told.steps.lanes.push_back(strips_[i].lane);
      told.value += worth(strips_[i], strips_[i].told, strips_[i].lane.boards);
    }
    std::set<int> rips;
    for (const Lane& lane : told.steps.lanes) rips.insert(lane.rips.begin(), lane.rips.end());
    for (const Cut* cut : flitch_.cuts) {
      if (!rips.contains(cut->n)) told.steps.crosscuts.push_back(cut->n);
    }
    return told;
  }

 private:
  const Mill& mill() const { return subject_.plan.mill; }
  double tape() const { return mill().tape_step(); }

  /// Lanes that lean on a sawn edge come first, then those beside one that is done, then from the
  /// far edge. Sets how the lane is measured.
  std::size_t next_strip(const std::vector<bool>& done) {
    for (std::size_t i = 0; i < strips_.size(); ++i) {
      if (done[i] || !(strips_[i].upper_face || strips_[i].lower_face)) continue;
      strips_[i].lane.side = strips_[i].upper_face ? Lane::Side::far_face : Lane::Side::near_face;
      strips_[i].told = strips_[i].planned;
      return i;
    }
    for (std::size_t i = 0; i < strips_.size(); ++i) {
      if (!done[i] && follows(strips_[i])) return i;
    }
    std::size_t best = strips_.size();
    for (std::size_t i = 0; i < strips_.size(); ++i) {
      if (done[i]) continue;
      if (best == strips_.size() || strips_[i].planned.from.y() < strips_[best].planned.from.y()) {
        best = i;
      }
    }
    strips_[best].lane.side = strips_[best].upper != nullptr ? Lane::Side::line : Lane::Side::live;
    return best;
  }

  /// Whether a cut that a lane shares with one that is done puts it where it belongs.
  bool follows(Strip& strip) const {
    for (const std::size_t i : order_) {
      const Strip& other = strips_[i];
      const double kerf = subject_.plan.mill.kerf;
      if (strip.upper != nullptr && strip.upper == other.lower) {
        strip.told = other.told.below(other.lane.width + kerf);
        strip.lane.side = Lane::Side::next;
        return true;
      }
      if (strip.lower != nullptr && strip.lower == other.upper) {
        strip.told = other.told.below(-strip.lane.width - kerf);
        strip.lane.side = Lane::Side::next_far;
        return true;
      }
    }
    return false;
  }

  void round_lengths(Strip& strip) const {
    const double zero = flat_.extent.low.x();
    double before = -1e9;
    double planned_before = -1e9;
    for (const FlatBoard* board : strip.boards) {
      Length length;
      length.board = board->board->id;
      length.cut_from = maker_of(flitch_, board->start.middle(), false) != nullptr;
      length.cut_to = maker_of(flitch_, board->end.middle(), false) != nullptr;
      const double start = board->start.upper.x() - zero;
      const double kerf = subject_.plan.mill.kerf;
      const bool follows =
          std::abs(start - (mill().inches ? planned_before : before) - kerf) < same;
      length.from = follows           ? snapped_up(before + kerf, tape())
                    : length.cut_from ? snapped(start, tape())
                                      : start;
      const double exact = (board->end.middle() - board->start.middle()).norm();
      length.to = length.from + (mill().inches ? snapped_up(exact, tape()) : exact);
      before = length.to;
      planned_before = start + exact;
      strip.lane.boards.push_back(length);
    }
    for (const Cut* cut : {strip.upper, strip.lower}) {
      if (cut != nullptr) strip.lane.rips.push_back(cut->n);
    }
    std::sort(strip.lane.rips.begin(), strip.lane.rips.end());
  }

  /// Where rounding made the flitch thicker than its board, the wood must do at either face.
  bool fits_between_faces(Board board) const {
    double low = 1e9;
    double high = -1e9;
    for (const auto& corner : corners(board)) {
      low = std::min(low, flitch_.frame.up.dot(corner));
      high = std::max(high, flitch_.frame.up.dot(corner));
    }
    const double spare = (flitch_.high - flitch_.low) - (high - low);
    if (spare < 0.02 || spare > most_spare) {
      return fits(board, subject_.plan.order, subject_.shape);
    }
    board.corner += (flitch_.low - low) * flitch_.frame.up;
    if (!fits(board, subject_.plan.order, subject_.shape)) return false;
    board.corner += spare * flitch_.frame.up;
    return fits(board, subject_.plan.order, subject_.shape);
  }

  double worth(const Strip& strip, const Line& line, const std::vector<Length>& lengths) const {
    double sum = 0.0;
    for (std::size_t i = 0; i < strip.boards.size(); ++i) {
      const FlatBoard& flat = *strip.boards[i];
      const Line own{flat.start.upper, flat.end.upper};
      const Board board = moved(flitch_, flat_, flat, strip.live ? own : line, lengths[i].from);
      if (!lies_in_part(flitch_, board) || !fits_between_faces(board)) continue;
      sum += board.value * share_there(board, subject_.plan.order, subject_.shape);
    }
    return sum;
  }

  static std::vector<Length> shifted(std::vector<Length> lengths, double by) {
    const bool free = std::all_of(lengths.begin(), lengths.end(),
                                  [](const Length& length) { return length.cut_from; });
    if (!free) return lengths;
    for (Length& length : lengths) {
      length.from += by;
      length.to += by;
    }
    return lengths;
  }

  /// Where the numbers put a lane's upper edge.
  Line place(const Strip& strip, const std::array<TapePoint, 2>& points) const {
    if (strip.lane.side == Lane::Side::live) return strip.planned;
    if (strip.lane.side != Lane::Side::line) return strip.told;
    return line_through(flat_, points).value_or(strip.planned);
  }

  /// Rounds a lane's distances, to the nearest step of the tape or beside it where a board would
  /// lose its wood.
  void settle(Strip& strip) const {
    double whole = 0.0;
    for (const FlatBoard* board : strip.boards) whole += board->board->value;
    const auto lengths = strip.lane.boards;
    const bool line = strip.lane.side == Lane::Side::line;
    const auto exact =
        line ? tape_points(flat_, strip.planned, mill()) : std::array<TapePoint, 2>{};
    double most = -1.0;
    Line best = strip.planned;
    for (const Nudge& nudge : nudges(line, tape())) {
      auto points = exact;
      points[0].distance = snapped(points[0].distance, tape()) + nudge.first;
      points[1].distance = snapped(points[1].distance, tape()) + nudge.second;
      const auto told = place(strip, points);
      const auto moved_lengths = shifted(lengths, nudge.along);
      const double sum = worth(strip, told, moved_lengths);
      if (sum <= most + 1e-9) continue;
      most = sum;
      strip.lane.line = points;
      strip.lane.boards = moved_lengths;
      best = told;
      if (most >= whole - 1e-9) break;
    }
    strip.told = best;
  }

  const Subject& subject_;
  const Flitch& flitch_;
  FlatFlitch flat_;
  std::vector<Strip> strips_;
  std::vector<std::size_t> order_;
};

}  // namespace

FlitchTold flitch_steps(const Subject& subject, const Flitch& flitch) {
  return Bench(subject, flitch).tell();
}

}  // namespace kerfwright::sheet
