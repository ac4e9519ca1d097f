#include "flitch_view.hpp"

#include <algorithm>
#include <cmath>
#include <memory>

#include "labels.hpp"
#include "look.hpp"

namespace kerfwright::sheet {
namespace {

constexpr double heading_room = 4.4;  // mm above the marks
constexpr double marks_room = 4.6;    // a row of distances with its leaders
constexpr double below_room = 1.0;
constexpr double mark_size = 2.8;
constexpr double face_tolerance =
    0.5;  // mm between a board's face and the edge of the kerf that makes it

/// A distance to write down.
struct Mark {
  Point place;   // mm of flitch, what it leads to
  double value;  // mm
};

/// A board as it lies in the flitch: the corners of its two ends, mm of flitch, y down.
struct FlatBoard {
  const Board* board;
  Polygon outline;
  double start, end;  // along the flitch
  Point upper_start, upper_end;
  double lower;  // the lowest point, y
};

/// The flitch flattened, mm, butt to the left, y down, its frame's left up.
struct Flat {
  std::vector<FaceEdge> narrow, wide;
  Polygon outline;                            // of the wide face
  std::vector<std::pair<Path, double>> cuts;  // ends and kerf
  std::vector<FlatBoard> boards;
  std::vector<Mark> edge_marks, end_marks;
  std::string heading;
  Box extent;
};

Point flattened(const Flitch& flitch, const Eigen::Vector3d& p) {
  return {flitch.frame.along.dot(p), -flitch.frame.left.dot(p)};
}

Polygon face_outline(const std::vector<FaceEdge>& edges) {
  Polygon outline;
  for (const auto& edge : edges) outline.emplace_back(edge.along, -edge.left);
  for (auto edge = edges.rbegin(); edge != edges.rend(); ++edge) {
    outline.emplace_back(edge->along, -edge->right);
  }
  return outline;
}

FlatBoard flat_board(const Flitch& flitch, const Board& board) {
  FlatBoard flat{&board, {}, 1e9, -1e9, Point(0, 1e9), Point(0, 1e9), -1e9};
  const double middle = flitch.frame.along.dot(board.corner + board.length / 2 * board.along);
  for (const auto& corner : corners(board)) {
    const Point p = flattened(flitch, corner);
    flat.outline.push_back(p);
    flat.start = std::min(flat.start, p.x());
    flat.end = std::max(flat.end, p.x());
    flat.lower = std::max(flat.lower, p.y());
    Point& upper = p.x() < middle ? flat.upper_start : flat.upper_end;
    if (p.y() < upper.y() - 1e-9) upper = p;
  }
  flat.outline = hull(flat.outline);
  return flat;
}

/// A cut as a line in the plane of the flitch, half way up.
HalfPlane line_of(const Flitch& flitch, const Cut& cut) {
  const double middle = (flitch.low + flitch.high) / 2;
  const Eigen::Vector2d normal(cut.normal.dot(flitch.frame.along),
                               -cut.normal.dot(flitch.frame.left));
  return {normal, cut.normal.dot(cut.point) - cut.normal.dot(flitch.frame.up) * middle};
}

/// The stretch of each cut that lies in the piece it saws.
std::vector<std::pair<Path, double>> flat_cuts(const Subject& subject, const Flitch& flitch,
                                               const Polygon& outline) {
  const PieceTree tree(subject.plan);
  std::vector<std::pair<Path, double>> lines;
  for (const Cut* cut : flitch.cuts) {
    Polygon piece = outline;
    const auto ancestry = tree.ancestry(cut->piece);
    for (std::size_t i = flitch.ancestry.size(); i < ancestry.size(); ++i) {
      const HalfPlane line = line_of(flitch, *ancestry[i].cut);
      const double sign = ancestry[i].above ? 1.0 : -1.0;
      piece = clipped(piece, {sign * line.normal, sign * line.offset + ancestry[i].cut->kerf / 2});
    }
    const HalfPlane line = line_of(flitch, *cut);
    if (line.normal.norm() < 0.5) continue;
    if (const auto span = span_on_line(piece, line.normal, line.offset)) {
      lines.push_back({{span->from, span->to}, cut->kerf});
    }
  }
  return lines;
}

/// Whether an edging (`lengthwise`) or a cross-cut makes the face at a point.
bool made_by_cut(const Flitch& flitch, const Point& point, bool lengthwise) {
  return std::any_of(flitch.cuts.begin(), flitch.cuts.end(), [&](const Cut* cut) {
    const HalfPlane line = line_of(flitch, *cut);
    if (std::abs(line.normal[lengthwise ? 1 : 0]) < 0.9) return false;
    const double distance = std::abs(line.normal.dot(point) - line.offset);
    return std::abs(distance - cut->kerf / 2) < face_tolerance;
  });
}

/// The upper edge of the narrow face, or of the wide one where that has none, as drawn (y down).
std::optional<double> upper_edge(const Flat& flat, double along) {
  for (const auto* edges : {&flat.narrow, &flat.wide}) {
    for (std::size_t i = 0; i + 1 < edges->size(); ++i) {
      const FaceEdge& a = (*edges)[i];
      const FaceEdge& b = (*edges)[i + 1];
      if (along < a.along - 0.5 || along > b.along + 0.5) continue;
      const double share = std::clamp((along - a.along) / (b.along - a.along), 0.0, 1.0);
      return -(a.left + share * (b.left - a.left));
    }
  }
  return std::nullopt;
}

/// Whether another board lies right above a point, a kerf away, so that the point needs no
/// distance.
bool board_above(const Flat& flat, const Point& point, double kerf) {
  return std::any_of(flat.boards.begin(), flat.boards.end(), [&](const FlatBoard& other) {
    const double gap = point.y() - other.lower;
    return gap > -0.5 && gap < 1.5 * kerf + 1.0 && other.start < point.x() + 1.0 &&
           other.end > point.x() - 1.0;
  });
}

void add_mark(std::vector<Mark>& marks, const Mark& mark) {
  const bool known = std::any_of(marks.begin(), marks.end(), [&](const Mark& other) {
    return std::abs(other.place.x() - mark.place.x()) < 2.0 &&
           std::lround(other.value) == std::lround(mark.value);
  });
  if (!known) marks.push_back(mark);
}

std::vector<Mark> edge_marks(const Flitch& flitch, const Flat& flat, double kerf) {
  std::vector<Mark> marks;
  for (const FlatBoard& board : flat.boards) {
    for (const Point& corner : {board.upper_start, board.upper_end}) {
      const auto edge = upper_edge(flat, corner.x());
      if (!edge || !made_by_cut(flitch, corner, true) || board_above(flat, corner, kerf)) continue;
      add_mark(marks, {corner, corner.y() - *edge});
    }
  }
  return marks;
}

/// Distances of the boards' ends from the flitch's butt end. Of two ends that share a cut only the
/// one further on is told: there the next board begins.
std::vector<Mark> end_marks(const Flitch& flitch, const Flat& flat, double kerf) {
  const double zero = flat.extent.low.x();
  std::vector<Mark> starts;
  std::vector<Mark> ends;
  for (const FlatBoard& board : flat.boards) {
    const double y = board.lower;
    if (made_by_cut(flitch, {board.start, board.upper_start.y()}, false)) {
      add_mark(starts, {{board.start, y}, board.start - zero});
    }
    if (made_by_cut(flitch, {board.end, board.upper_end.y()}, false)) {
      add_mark(ends, {{board.end, y}, board.end - zero});
    }
  }
  for (const Mark& end : ends) {
    const bool shared = std::any_of(starts.begin(), starts.end(), [&](const Mark& start) {
      const double gap = start.place.x() - end.place.x();
      return gap > -0.5 && gap < 1.5 * kerf;
    });
    if (!shared) add_mark(starts, end);
  }
  if (!starts.empty()) starts.insert(starts.begin(), {{zero, flat.extent.high.y()}, 0.0});
  return starts;
}

std::string cut_list(const Flitch& flitch, bool lengthwise) {
  std::string text;
  for (const Cut* cut : flitch.cuts) {
    const HalfPlane line = line_of(flitch, *cut);
    const bool is_lengthwise = std::abs(line.normal.y()) >= std::abs(line.normal.x());
    if (is_lengthwise != lengthwise) continue;
    text.append(text.empty() ? "" : ", ").append(std::to_string(cut->n));
  }
  return text;
}

std::string heading(const Flitch& flitch) {
  std::string text = look::rounded(flitch.high - flitch.low) + " mm";
  if (const Cut* cut = flitch.cut_off())
    text.append(", off at cut ").append(std::to_string(cut->n));
  const std::string edging = cut_list(flitch, true);
  const std::string ends = cut_list(flitch, false);
  if (!edging.empty()) text.append(" · edge ").append(edging);
  if (!ends.empty()) text.append(" · to length ").append(ends);
  return text;
}

void grow(Box& box, const Polygon& polygon) {
  for (const auto& p : polygon) {
    box.low = box.low.cwiseMin(p);
    box.high = box.high.cwiseMax(p);
  }
}

Flat flatten(const Subject& subject, const Flitch& flitch) {
  Flat flat;
  flat.narrow = face_edges(subject.shape, flitch, true);
  flat.wide = face_edges(subject.shape, flitch, false);
  flat.outline = face_outline(flat.wide);
  flat.cuts = flat_cuts(subject, flitch, flat.outline);
  for (const Board* board : flitch.boards) flat.boards.push_back(flat_board(flitch, *board));
  flat.extent = {Point(1e9, 1e9), Point(-1e9, -1e9)};
  grow(flat.extent, flat.outline);
  grow(flat.extent, face_outline(flat.narrow));
  for (const auto& board : flat.boards) grow(flat.extent, board.outline);
  flat.edge_marks = edge_marks(flitch, flat, subject.plan.mill.kerf);
  flat.end_marks = end_marks(flitch, flat, subject.plan.mill.kerf);
  flat.heading = heading(flitch);
  return flat;
}

Path placed(const Polygon& polygon, const Point& zero, double scale) {
  Path path;
  for (const auto& p : polygon) path.push_back(zero + p / scale);
  return path;
}

double row_width(const std::vector<Mark>& marks) {
  double width = 0.0;
  for (const Mark& mark : marks) width += text_width(look::rounded(mark.value), mark_size) + 1.2;
  return width;
}

Point size_of(const Flat& flat, double scale) {
  const Point size = (flat.extent.high - flat.extent.low) / scale;
  const double width = std::max({size.x(), row_width(flat.edge_marks), row_width(flat.end_marks),
                                 text_width(flat.heading, mark_size) + 6.0});
  return {width, heading_room + (flat.edge_marks.empty() ? 0.0 : marks_room) + size.y() +
                     (flat.end_marks.empty() ? 0.0 : marks_room) + below_room};
}

/// A row of distances above or below the flitch, each with a line to what it measures.
void draw_marks(Svg& svg, const std::vector<Mark>& marks, const Point& zero, double scale,
                const Box& row, bool above) {
  std::vector<Slot> slots;
  for (const Mark& mark : marks) {
    slots.push_back(
        {(zero + mark.place / scale).x(), text_width(look::rounded(mark.value), mark_size) + 1.2});
  }
  const auto places = spread(slots, row.low.x(), row.high.x());
  for (std::size_t i = 0; i < marks.size(); ++i) {
    const Point place = zero + marks[i].place / scale;
    const Point foot(places[i], above ? row.high.y() - 1.2 : row.low.y() + 1.4);
    const Point bend(place.x(), above ? row.high.y() : row.low.y() + 0.2);
    svg.path({place, bend, foot}, false, look::leader);
    svg.text({places[i], above ? foot.y() - 0.4 : foot.y() + 0.3 + 0.73 * mark_size},
             look::rounded(marks[i].value), {mark_size, Anchor::middle});
  }
}

/// The board's number, and its width and length beside it where there is room.
void draw_board_text(Svg& svg, Taken& taken, const FlatBoard& board, const Point& zero,
                     double scale) {
  const Point middle =
      zero + Point((board.start + board.end) / 2,
                   (std::min(board.upper_start.y(), board.upper_end.y()) + board.lower) / 2) /
                 scale;
  const double run = (board.end - board.start) / scale;
  const double rise = (board.lower - std::min(board.upper_start.y(), board.upper_end.y())) / scale;
  const std::string number = std::to_string(board.board->id);
  const std::string size = look::size_text(*board.board);
  const double wide = text_width(size, mark_size) + 1.0;
  const double tall = 0.73 * mark_size + 0.8;
  const double numbered = text_width(number, 3.0, true) + 1.5;
  if (rise >= tall && run >= wide + numbered + 4.0) {
    const Point left(middle.x() - (wide + numbered) / 2 + numbered, middle.y());
    const Box box{left - Point(0, tall / 2), left + Point(wide, tall / 2)};
    if (place_number(svg, taken, {left - Point(numbered / 2 + 0.4, 0)}, number)) {
      svg.rect(box, "rx=\"0.6\" fill=\"#fff\"");
      svg.text(left + Point(0.5, 0.365 * mark_size), size, {mark_size});
      taken.take(box);
      return;
    }
  }
  Path places;
  for (const double shift : {0.0, 0.2, -0.2, 0.35, -0.35, 0.45, -0.45}) {
    places.push_back(middle + Point(shift * run, 0));
  }
  place_number(svg, taken, places, number, rise >= 3.0 ? 3.0 : 2.8);
}

void draw_flitch(Svg& svg, const Subject& subject, const Flitch& flitch, const Flat& flat,
                 const Point& corner, double scale) {
  svg.begin("id=\"flitch-" + flitch.letter + "\"");
  svg.text(corner + Point(0, 3.2), flitch.letter, {3.8, Anchor::start, true});
  svg.text(corner + Point(5.0, 3.2), flat.heading, {mark_size});
  const double above = heading_room + (flat.edge_marks.empty() ? 0.0 : marks_room);
  const Point size = size_of(flat, scale);
  const Point zero = corner + Point(0, above) - flat.extent.low / scale;
  svg.path(placed(flat.outline, zero, scale), true, look::wane);
  svg.path(placed(face_outline(flat.narrow), zero, scale), true, look::face);
  for (const auto& [ends, kerf] : flat.cuts) {
    svg.path(placed(ends, zero, scale), false, look::dust(std::max(kerf / scale, 0.3)));
  }
  const auto hatches = look::hatches(subject.plan);
  for (const FlatBoard& board : flat.boards) {
    svg.begin("", look::board_title(*board.board, subject.plan.order.currency));
    svg.path(placed(board.outline, zero, scale), true,
             look::board(hatches.at(board.board->product)));
    svg.end();
  }
  for (const auto& [ends, kerf] : flat.cuts) svg.path(placed(ends, zero, scale), false, look::cut);
  const double bottom = zero.y() + flat.extent.high.y() / scale;
  draw_marks(svg, flat.edge_marks, zero, scale,
             {corner + Point(0, heading_room), corner + Point(size.x(), above)}, true);
  draw_marks(svg, flat.end_marks, zero, scale,
             {Point(corner.x(), bottom), Point(corner.x() + size.x(), bottom + marks_room)}, false);
  Taken taken;
  for (const FlatBoard& board : flat.boards) draw_board_text(svg, taken, board, zero, scale);
  svg.end();
}

}  // namespace

Figure flitch_view(const Subject& subject, const Flitch& flitch) {
  const auto flat = std::make_shared<const Flat>(flatten(subject, flitch));
  return {[flat](double scale) { return size_of(*flat, scale); },
          [flat, &subject, &flitch](Svg& svg, const Point& corner, double scale) {
            draw_flitch(svg, subject, flitch, *flat, corner, scale);
          }};
}

}  // namespace kerfwright::sheet
