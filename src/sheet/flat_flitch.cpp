#include "flat_flitch.hpp"

#include <algorithm>
#include <cmath>
#include <optional>

#include "board_fits.hpp"
#include "lengths.hpp"
#include "tables.hpp"

namespace kerfwright::sheet {
namespace {

constexpr double face_tolerance =
    0.5;  // mm between a board's face and the edge of the kerf that makes it

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
  const FlatEnd none{Point(0, 1e9), Point(0, -1e9)};
  FlatBoard flat{&board, {}, none, none};
  const auto points = corners(board);
  const bool forward = flitch.frame.along.dot(board.along) > 0.0;
  for (std::size_t i = 0; i < points.size(); ++i) {
    const Point p = flattened(flitch, points[i]);
    flat.outline.push_back(p);
    // Odd corners lie at the end that the board's own direction points to.
    FlatEnd& end = (i % 2 == 1) == forward ? flat.end : flat.start;
    if (p.y() < end.upper.y() - 1e-9) end.upper = p;
    if (p.y() > end.lower.y() + 1e-9) end.lower = p;
  }
  flat.outline = hull(flat.outline);
  return flat;
}

/// A slab is what its two ends leave of the flitch's narrow face.
void keep_edges(const FlatFlitch& flat, FlatBoard& slab) {
  const double from = slab.start.middle().x();
  const double to = slab.end.middle().x();
  slab.outline = clipped(clipped(flat.narrow_outline, {Point(1, 0), from}), {Point(-1, 0), -to});
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

/// Where a face's upper edge lies, as drawn (y down).
std::optional<double> upper_edge(const std::vector<FaceEdge>& face, double along) {
  for (std::size_t i = 0; i + 1 < face.size(); ++i) {
    const FaceEdge& a = face[i];
    const FaceEdge& b = face[i + 1];
    if (along < a.along - 0.5 || along > b.along + 0.5) continue;
    const double share = std::clamp((along - a.along) / (b.along - a.along), 0.0, 1.0);
    return -(a.left + share * (b.left - a.left));
  }
  return std::nullopt;
}

}  // namespace

const Cut* maker_of(const Flitch& flitch, const Point& point, bool lengthwise) {
  for (const Cut* cut : flitch.cuts) {
    const HalfPlane line = line_of(flitch, *cut);
    if (std::abs(line.normal[lengthwise ? 1 : 0]) < 0.9) continue;
    const double distance = std::abs(line.normal.dot(point) - line.offset);
    if (std::abs(distance - cut->kerf / 2) < face_tolerance) return cut;
  }
  return nullptr;
}

std::optional<double> far_edge(const FlatFlitch& flat, double along) {
  const auto narrow = upper_edge(flat.narrow, along);
  const auto wide = upper_edge(flat.wide, along);
  if (narrow && wide) return std::min(*narrow, *wide);
  return narrow ? narrow : wide;
}

namespace {

/// Whether a cut also makes the lower side of a board: the line then follows from that board.
bool has_board_above(const Flitch& flitch, const FlatFlitch& flat, const Cut* cut) {
  return std::any_of(flat.boards.begin(), flat.boards.end(), [&](const FlatBoard& other) {
    return maker_of(flitch, other.start.lower, true) == cut;
  });
}

void add_mark(std::vector<Mark>& marks, const Mark& mark, const Lengths& lengths) {
  const bool known = std::any_of(marks.begin(), marks.end(), [&](const Mark& other) {
    return std::abs(other.place.x() - mark.place.x()) < 2.0 &&
           lengths.number(other.value) == lengths.number(mark.value);
  });
  if (!known) marks.push_back(mark);
}

/// An edging line is straight: two distances lay it down, where its first board begins and its last
/// ends.
std::vector<EdgeLine> edge_lines(const Flitch& flitch, const FlatFlitch& flat) {
  std::vector<EdgeLine> lines;
  for (const FlatBoard& board : flat.boards) {
    for (const Point& corner : {board.start.upper, board.end.upper}) {
      const auto edge = far_edge(flat, corner.x());
      const Cut* cut = maker_of(flitch, corner, true);
      if (!edge || cut == nullptr || has_board_above(flitch, flat, cut)) continue;
      const Mark mark{corner, corner.y() - *edge};
      auto line = std::find_if(lines.begin(), lines.end(),
                               [cut](const EdgeLine& known) { return known.cut == cut; });
      if (line == lines.end()) line = lines.insert(lines.end(), {cut, mark, mark});
      if (mark.place.x() < line->start.place.x()) line->start = mark;
      if (mark.place.x() > line->end.place.x()) line->end = mark;
    }
  }
  return lines;
}

std::string cut_list(const Flitch& flitch, bool lengthwise) {
  std::vector<int> numbers;
  for (const Cut* cut : flitch.cuts) {
    const HalfPlane line = line_of(flitch, *cut);
    const bool is_lengthwise = std::abs(line.normal.y()) >= std::abs(line.normal.x());
    if (is_lengthwise == lengthwise) numbers.push_back(cut->n);
  }
  return runs(numbers);
}

std::string heading_of(const Flitch& flitch, const Lengths& lengths) {
  std::string text = lengths.thickness(flitch.high - flitch.low);
  if (const Cut* cut = flitch.cut_off()) text.append(", cut ").append(std::to_string(cut->n));
  if (flitch.is_part()) {
    std::vector<int> across;
    for (std::size_t i = flitch.on_mill; i < flitch.ancestry.size(); ++i) {
      across.push_back(flitch.ancestry[i].cut->n);
    }
    text.append(", across ").append(runs(across));
  }
  const std::string edging = cut_list(flitch, true);
  const std::string ends = cut_list(flitch, false);
  if (!edging.empty()) text.append(", edge ").append(edging);
  if (!ends.empty()) text.append(", end ").append(ends);
  return text;
}

std::string summary_of(const Flitch& flitch, const FlatFlitch& flat, const Lengths& lengths) {
  std::string text = lengths.thickness(flitch.high - flitch.low);
  std::string before = ", edge ";
  for (const EdgeLine& line : flat.edge_lines) {
    text.append(before).append(lengths.pair(line.start.value, line.end.value));
    before = ", ";
  }
  std::vector<int> numbers;
  for (const Cut* cut : flitch.cuts) numbers.push_back(cut->n);
  if (!numbers.empty()) text.append(", cuts ").append(runs(numbers));
  return text;
}

void grow(Box& box, const Polygon& polygon) {
  for (const auto& p : polygon) {
    box.low = box.low.cwiseMin(p);
    box.high = box.high.cwiseMax(p);
  }
}

/// Distances of the boards' ends from the flitch's butt end. Of two ends that share a cut only the
/// one further on is told: there the next board begins.
std::vector<Mark> end_marks(const Flitch& flitch, const FlatFlitch& flat, const Mill& mill,
                            const std::vector<Length>& told) {
  const Lengths lengths(mill);
  const double zero = flat.extent.low.x();
  std::vector<Mark> starts;
  std::vector<Mark> ends;
  for (const FlatBoard& board : flat.boards) {
    const Point start = board.start.middle();
    const Point end = board.end.middle();
    const auto known = std::find_if(told.begin(), told.end(), [&](const Length& length) {
      return length.board == board.board->id;
    });
    const bool is_told = known != told.end();
    if (maker_of(flitch, start, false) != nullptr) {
      add_mark(starts, {board.start.lower, is_told ? known->from : start.x() - zero}, lengths);
    }
    if (maker_of(flitch, end, false) != nullptr) {
      add_mark(ends, {board.end.lower, is_told ? known->to : end.x() - zero}, lengths);
    }
  }
  for (const Mark& end : ends) {
    const bool shared = std::any_of(starts.begin(), starts.end(), [&](const Mark& start) {
      const double gap = start.place.x() - end.place.x();
      return gap > -0.5 && gap < 1.5 * mill.kerf;
    });
    if (!shared) add_mark(starts, end, lengths);
  }
  if (!starts.empty()) starts.insert(starts.begin(), {{zero, flat.extent.high.y()}, 0.0});
  return starts;
}

}  // namespace

FlatFlitch flatten(const Subject& subject, const Flitch& flitch, const std::vector<Length>& told) {
  FlatFlitch flat;
  flat.narrow = face_edges(subject.shape, flitch, true);
  flat.wide = face_edges(subject.shape, flitch, false);
  flat.narrow_outline = face_outline(flat.narrow);
  flat.wide_outline = face_outline(flat.wide);
  flat.cuts = flat_cuts(subject, flitch, flat.wide_outline);
  for (const Board* board : flitch.boards) {
    flat.boards.push_back(flat_board(flitch, *board));
    if (is_slab(*board, subject.plan.order)) keep_edges(flat, flat.boards.back());
  }
  flat.extent = {Point(1e9, 1e9), Point(-1e9, -1e9)};
  grow(flat.extent, flat.wide_outline);
  grow(flat.extent, flat.narrow_outline);
  for (const auto& board : flat.boards) grow(flat.extent, board.outline);
  flat.edge_lines = edge_lines(flitch, flat);
  flat.end_marks = end_marks(flitch, flat, subject.plan.mill, told);
  flat.heading = heading_of(flitch, Lengths(subject.plan.mill));
  flat.summary = summary_of(flitch, flat, Lengths(subject.plan.mill));
  return flat;
}

}  // namespace kerfwright::sheet
