#include <algorithm>
#include <array>
#include <cmath>
#include <optional>

#include "board_fits.hpp"
#include "kerfwright/saw/live_edge.hpp"
#include "kerfwright/shape/section.hpp"
#include "labels.hpp"
#include "look.hpp"
#include "section_sheet.hpp"

namespace kerfwright::sheet {
namespace {

constexpr double near_share =
    0.1;  // of the log: a board that ends this near to a section is shown there

/// Where a board is cut by the plane of the section, were it long enough.
std::optional<Path> board_outline(const Sheet& sheet, const Board& board) {
  if (std::abs(board.along.x()) < 0.5) return std::nullopt;
  double left = 0.0;
  double right = board.width;
  if (is_slab(board, sheet.subject.plan.order)) {
    const double a = (sheet.x - board.corner.x()) / board.along.x();
    const auto section = live_section(board, sheet.subject.shape, a);
    if (section && section->right() > section->left()) {
      left = section->left();
      right = section->right();
    }
  }
  Path outline;
  for (const auto& [across, up] :
       std::array<std::array<double, 2>, 4>{{{0, 0}, {1, 0}, {1, 1}, {0, 1}}}) {
    const Eigen::Vector3d edge = board.corner + (left + across * (right - left)) * board.across +
                                 up * board.thickness * board.up;
    outline.push_back(
        sheet.at(Eigen::Vector3d(edge + (sheet.x - edge.x()) / board.along.x() * board.along)));
  }
  return outline;
}

/// How far along the chord a board lies from a section; 0 where the section cuts it.
double distance_to(const Board& board, double x) {
  double low = 1e9;
  double high = -1e9;
  for (const auto& corner : corners(board)) {
    low = std::min(low, corner.x());
    high = std::max(high, corner.x());
  }
  return std::max({0.0, low - x, x - high});
}

Point middle_of(const Path& outline) {
  Point sum(0, 0);
  for (const Point& p : outline) sum += p;
  return sum / static_cast<double>(outline.size());
}

/// Whether two boards' outlines share more than a border: each is convex, so centres and shrunk
/// corners tell.
bool share_wood(const Path& a, const Path& b) {
  const auto touches = [](const Path& one, const Path& other) {
    const Point centre = middle_of(one);
    if (contains(other, centre)) return true;
    return std::any_of(one.begin(), one.end(), [&](const Point& p) {
      return contains(other, Point(centre + 0.9 * (p - centre)));
    });
  };
  return touches(a, b) || touches(b, a);
}

struct ShownBoard {
  const Board* board;
  Path outline;
  bool beyond;  // the board begins or ends before this section
  Path drawn;   // the same, with the natural edges of a slab
};

/// A slab as the section cuts it; other boards are their outline.
Path drawn_outline(const Sheet& sheet, const Board& board, const Path& outline) {
  if (!is_slab(board, sheet.subject.plan.order) || distance_to(board, sheet.x) > 0.0) {
    return outline;
  }
  for (const Flitch& flitch : sheet.subject.flitches) {
    const bool is_its = std::any_of(flitch.boards.begin(), flitch.boards.end(),
                                    [&](const Board* other) { return other->id == board.id; });
    if (!is_its) continue;
    const Path natural = sheet.path(
        piece_section(sheet.subject.shape, sheet.x, Bark::off, lengthwise(flitch.ancestry)));
    if (natural.size() > 2) return natural;
  }
  return outline;
}

/// A part has one section: a board that would lie in the air there stands in the other views.
bool belongs_to_part(const Sheet& sheet, const Board& board, const Path& outline, double distance) {
  const Lying& part = *sheet.place.part;
  const double middle = (board.corner + 0.5 * board.length * board.along).x();
  if (middle < part.from || middle > part.to) return false;
  if (distance <= near_share * (part.to - part.from)) return true;
  const Path log = sheet.path(section_outline_at(sheet.subject.shape, sheet.x, Bark::on));
  return std::all_of(outline.begin(), outline.end(),
                     [&](const Point& corner) { return contains(log, corner); });
}

/// Whether a section is the place to show a board that it does not cut: one near the board's end
/// is, so is the nearest of those drawn, and any where the board, were it longer, would lie in the
/// log.
bool belongs(const Sheet& sheet, const Board& board, const Path& outline, double distance) {
  if (sheet.place.part) return belongs_to_part(sheet, board, outline, distance);
  if (distance <= near_share * sheet.subject.shape.length()) return true;
  double nearest = 1e9;
  for (const auto& place : sheet.sections.places) {
    nearest = std::min(nearest, distance_to(board, place.x));
  }
  if (distance <= nearest) return true;
  const Path log = sheet.path(section_outline_at(sheet.subject.shape, sheet.x, Bark::on));
  return std::all_of(outline.begin(), outline.end(),
                     [&](const Point& corner) { return contains(log, corner); });
}

/// The boards that a section shows; where two would lie on top of each other the one that is
/// nearer.
std::vector<ShownBoard> shown_boards(const Sheet& sheet) {
  std::vector<std::pair<double, const Board*>> order;
  for (const Board* board : sheet.sections.boards) {
    order.emplace_back(distance_to(*board, sheet.x), board);
  }
  std::stable_sort(order.begin(), order.end(),
                   [](const auto& a, const auto& b) { return a.first < b.first; });
  std::vector<ShownBoard> shown;
  for (const auto& [distance, board] : order) {
    const auto outline = board_outline(sheet, *board);
    if (!outline || !belongs(sheet, *board, *outline, distance)) continue;
    const bool hidden = std::any_of(shown.begin(), shown.end(), [&](const ShownBoard& other) {
      return share_wood(*outline, other.outline);
    });
    if (!hidden)
      shown.push_back({board, *outline, distance > 0.5, drawn_outline(sheet, *board, *outline)});
  }
  // The smallest first: their numbers have the fewest places to stand.
  const auto size = [](const ShownBoard& item) {
    return (item.outline[1] - item.outline[0]).norm() * (item.outline[3] - item.outline[0]).norm();
  };
  std::stable_sort(shown.begin(), shown.end(), [&](const ShownBoard& a, const ShownBoard& b) {
    return size(a) < size(b) - 1e-6;
  });
  return shown;
}

/// Places for a number inside a board: its middle first, then further and further along its longer
/// side.
Path number_places(const Path& outline) {
  Point longer = outline[1] - outline[0];
  Point shorter = outline[3] - outline[0];
  if (longer.norm() < shorter.norm()) std::swap(longer, shorter);
  Path places;
  for (const double side : {0.0, 0.25, -0.25}) {
    for (const double shift : {0.0, 0.12, -0.12, 0.24, -0.24, 0.36, -0.36, 0.44, -0.44}) {
      places.push_back(middle_of(outline) + shift * longer + side * shorter);
    }
  }
  return places;
}

/// Where boards are too thin for their numbers some stand beside them, joined by a line.
void number_beside(Svg& svg, Taken& taken, const ShownBoard& item,
                   const std::vector<ShownBoard>& shown) {
  Point longer = item.outline[1] - item.outline[0];
  const Point shorter = item.outline[3] - item.outline[0];
  if (longer.norm() < shorter.norm()) longer = shorter;
  const Point middle = middle_of(item.outline);
  Path places;
  for (int step = 0; step < 12; ++step) {
    for (const double sign : {1.0, -1.0}) {
      const Point place = middle + sign * (0.5 * longer + (3.0 + step) * longer.normalized());
      const bool on_board = std::any_of(shown.begin(), shown.end(), [&](const ShownBoard& other) {
        return contains(other.outline, place);
      });
      if (!on_board) places.push_back(place);
    }
  }
  const auto place = place_number(svg, taken, places, std::to_string(item.board->id), 2.6);
  if (!place) return;
  const double sign = (*place - middle).dot(longer) > 0.0 ? 1.0 : -1.0;
  const Point edge = middle + sign * 0.5 * longer;
  svg.line(edge, *place - sign * 2.1 * longer.normalized(), look::leader);
}

}  // namespace

void draw_boards(Svg& svg, const Sheet& sheet) {
  const auto hatches = look::hatches(sheet.subject.plan);
  const auto shown = shown_boards(sheet);
  for (const auto& [board, outline, beyond, drawn] : shown) {
    svg.begin("", look::board_title(*board, sheet.subject.plan));
    svg.path(drawn, true, look::board(hatches.at(board->product), beyond));
    svg.end();
  }
  Taken taken;
  std::vector<const ShownBoard*> unnumbered;
  for (const ShownBoard& item : shown) {
    const Path places = number_places(item.outline);
    const std::string number = std::to_string(item.board->id);
    if (!place_number(svg, taken, places, number) &&
        !place_number(svg, taken, places, number, 2.6)) {
      unnumbered.push_back(&item);
    }
  }
  for (const ShownBoard* item : unnumbered) number_beside(svg, taken, *item, shown);
}

}  // namespace kerfwright::sheet
