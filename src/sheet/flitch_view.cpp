#include "flitch_view.hpp"

#include <algorithm>
#include <memory>

#include "flat_flitch.hpp"
#include "labels.hpp"
#include "lengths.hpp"
#include "look.hpp"

namespace kerfwright::sheet {
namespace {

constexpr double heading_room = 4.4;  // mm above the marks
constexpr double marks_room = 4.6;    // a row of distances with its leaders
constexpr double below_room = 1.0;
constexpr double mark_size = 2.8;

Path placed(const Polygon& polygon, const Point& zero, double scale) {
  Path path;
  for (const auto& p : polygon) path.push_back(zero + p / scale);
  return path;
}

/// mm of paper between distances: a fraction must not be read with the number before it.
double mark_gap(const Lengths& lengths) { return lengths.inches() ? 3.2 : 1.2; }

double row_width(const std::vector<Mark>& marks, const Lengths& lengths) {
  double width = 0.0;
  for (const Mark& mark : marks)
    width += text_width(lengths.number(mark.value), mark_size) + mark_gap(lengths);
  return width;
}

/// A flitch with what is written about it.
struct Drawn {
  FlatFlitch flat;
  double head = heading_room;  // mm for letter and heading
  std::vector<Mark> above;     // edging distances, where they are drawn
  std::string heading;
  Lengths lengths;
};

Drawn prepare(const Subject& subject, const Flitch& flitch, Detail detail) {
  Drawn drawn{flatten(subject, flitch), heading_room, {}, {}, Lengths(subject.plan.mill)};
  drawn.heading = detail == Detail::full ? drawn.flat.heading : drawn.flat.summary;
  if (detail == Detail::brief) return drawn;
  for (const EdgeLine& line : drawn.flat.edge_lines) {
    drawn.above.push_back(line.start);
    drawn.above.push_back(line.end);
  }
  return drawn;
}

double room_above(const Drawn& drawn) {
  return drawn.head + (drawn.above.empty() ? 0.0 : marks_room);
}

Point size_of(const Drawn& drawn, double scale) {
  const FlatFlitch& flat = drawn.flat;
  const Point size = (flat.extent.high - flat.extent.low) / scale;
  const double width = std::max({size.x(), row_width(drawn.above, drawn.lengths),
                                 row_width(flat.end_marks, drawn.lengths),
                                 text_width(drawn.heading, mark_size) + 5.2});
  return {width,
          room_above(drawn) + size.y() + (flat.end_marks.empty() ? 0.0 : marks_room) + below_room};
}

/// A row of distances above or below the flitch, each with a line to what it measures.
void draw_marks(Svg& svg, const std::vector<Mark>& marks, const Point& zero, double scale,
                const Box& row, bool above, const Lengths& lengths) {
  std::vector<Slot> slots;
  for (const Mark& mark : marks) {
    slots.push_back({(zero + mark.place / scale).x(),
                     text_width(lengths.number(mark.value), mark_size) + mark_gap(lengths)});
  }
  const auto places = spread(slots, row.low.x(), row.high.x());
  for (std::size_t i = 0; i < marks.size(); ++i) {
    const Point place = zero + marks[i].place / scale;
    const Point foot(places[i], above ? row.high.y() - 1.2 : row.low.y() + 1.4);
    const Point bend(place.x(), above ? row.high.y() : row.low.y() + 0.2);
    svg.path({place, bend, foot}, false, look::leader);
    svg.text({places[i], above ? foot.y() - 0.4 : foot.y() + 0.3 + 0.73 * mark_size},
             lengths.number(marks[i].value), {mark_size, Anchor::middle});
  }
}

/// The board's number, and its size beside it where there is room.
void draw_board_text(Svg& svg, Taken& taken, const FlatBoard& board, const Point& zero,
                     double scale, const SawPlan& plan) {
  const Point from = zero + board.start.middle() / scale;
  const Point to = zero + board.end.middle() / scale;
  const Point middle = (from + to) / 2;
  const double rise = (board.start.lower - board.start.upper).norm() / scale;
  const std::string number = std::to_string(board.board->id);
  const std::string size = look::size_text(*board.board, plan);
  const double wide = text_width(size, mark_size) + 1.0;
  const double tall = 0.73 * mark_size + 0.8;
  const double numbered = text_width(number, 3.0, true) + 1.5;
  if (rise >= tall && (to - from).norm() >= wide + numbered + 4.0) {
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
    places.push_back(middle + shift * (to - from));
  }
  place_number(svg, taken, places, number, rise >= 3.0 ? 3.0 : 2.8);
}

void draw_wood(Svg& svg, const Subject& subject, const FlatFlitch& flat, const Point& zero,
               double scale) {
  svg.path(placed(flat.wide_outline, zero, scale), true, look::wane);
  svg.path(placed(flat.narrow_outline, zero, scale), true, look::face);
  for (const auto& [ends, kerf] : flat.cuts) {
    svg.path(placed(ends, zero, scale), false, look::dust(std::max(kerf / scale, 0.3)));
  }
  const auto hatches = look::hatches(subject.plan);
  for (const FlatBoard& board : flat.boards) {
    svg.begin("", look::board_title(*board.board, subject.plan));
    svg.path(placed(board.outline, zero, scale), true,
             look::board(hatches.at(board.board->product)));
    svg.end();
  }
  for (const auto& [ends, kerf] : flat.cuts) svg.path(placed(ends, zero, scale), false, look::cut);
}

void draw_flitch(Svg& svg, const Subject& subject, const Flitch& flitch, const Drawn& drawn,
                 const Point& corner, double scale) {
  const FlatFlitch& flat = drawn.flat;
  const double above = room_above(drawn);
  const double right = corner.x() + size_of(drawn, scale).x();
  const Point zero = corner + Point(0, above) - flat.extent.low / scale;
  const double bottom = zero.y() + flat.extent.high.y() / scale;
  svg.begin("id=\"flitch-" + flitch.letter + "\"");
  if (drawn.head > 0.0) {
    svg.text(corner + Point(0, 3.2), flitch.letter, {3.8, Anchor::start, true});
    const double letter = std::max(5.0, text_width(flitch.letter, 3.8, true) + 1.0);
    svg.text(corner + Point(letter, 3.2), drawn.heading, {mark_size});
  }
  draw_wood(svg, subject, flat, zero, scale);
  draw_marks(svg, drawn.above, zero, scale,
             {corner + Point(0, drawn.head), Point(right, corner.y() + above)}, true,
             drawn.lengths);
  draw_marks(svg, flat.end_marks, zero, scale,
             {Point(corner.x(), bottom), Point(right, bottom + marks_room)}, false, drawn.lengths);
  Taken taken;
  for (const FlatBoard& board : flat.boards)
    draw_board_text(svg, taken, board, zero, scale, subject.plan);
  svg.end();
}

Figure figure_of(const Subject& subject, const Flitch& flitch, Drawn parts) {
  const auto drawn = std::make_shared<const Drawn>(std::move(parts));
  return {[drawn](double scale) { return size_of(*drawn, scale); },
          [drawn, &subject, &flitch](Svg& svg, const Point& corner, double scale) {
            draw_flitch(svg, subject, flitch, *drawn, corner, scale);
          }};
}

}  // namespace

Figure flitch_view(const Subject& subject, const Flitch& flitch, Detail detail) {
  return figure_of(subject, flitch, prepare(subject, flitch, detail));
}

Figure flitch_view(const Subject& subject, const Flitch& flitch, const std::vector<Mark>& above,
                   const std::vector<Length>& told) {
  return figure_of(subject, flitch,
                   {flatten(subject, flitch, told), 0.0, above, {}, Lengths(subject.plan.mill)});
}

}  // namespace kerfwright::sheet
