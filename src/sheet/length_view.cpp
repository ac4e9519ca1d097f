#include "length_view.hpp"

#include <algorithm>
#include <memory>

#include "board_fits.hpp"
#include "kerfwright/saw/live_edge.hpp"
#include "kerfwright/shape/section.hpp"
#include "labels.hpp"
#include "look.hpp"

namespace kerfwright::sheet {
namespace {

constexpr double caption_room = 4.6;  // mm above the drawing
constexpr double below_room = 1.5;
constexpr double least_rise = 1.5;  // of a board on paper, below which a number would hide it

struct FlatBoard {
  const Board* board;
  Polygon outline;  // mm of log, y down
  double depth;     // the greater, the nearer to the eye
};

/// The view flattened, mm of log, butt to the left, y down.
struct Flat {
  Polygon over, under;
  Path axis;
  std::vector<FlatBoard> boards;              // the nearest last
  std::vector<std::pair<int, Path>> parting;  // numbers of the cross-cuts that part the log
  Box extent;
};

Point flattened(const Frame& frame, Looking looking, const Eigen::Vector3d& p) {
  return {p.dot(frame.along), -p.dot(looking == Looking::from_right ? frame.up : frame.left)};
}

/// The outermost points of every section: one side from butt to top, the other back.
Polygon silhouette(const Subject& subject, Looking looking, Bark bark) {
  Polygon upper;
  Polygon lower;
  for (std::size_t i = 0; i < subject.shape.stations.size(); ++i) {
    Point high(0, 1e9);
    Point low(0, -1e9);
    for (const auto& yz : section_outline(subject.shape, i, bark)) {
      const Eigen::Vector3d p(subject.shape.stations[i], yz.x(), yz.y());
      const Point q = flattened(subject.frame, looking, p);
      if (q.y() < high.y()) high = q;
      if (q.y() > low.y()) low = q;
    }
    upper.push_back(high);
    lower.push_back(low);
  }
  upper.insert(upper.end(), lower.rbegin(), lower.rend());
  return upper;
}

/// A slab between its natural edges, as it shows from above or on edge.
Polygon slab_outline(const Subject& subject, Looking looking, const Board& slab) {
  constexpr int steps = 40;
  Polygon left, right;
  for (int i = 0; i <= steps; ++i) {
    const double a = slab.length * i / steps;
    const auto section = live_section(slab, subject.shape, a);
    const double low = section ? section->outer_left() : 0.0;
    const double high = section ? section->outer_right() : slab.width;
    const Eigen::Vector3d middle = slab.corner + a * slab.along + slab.thickness / 2 * slab.up;
    left.push_back(flattened(subject.frame, looking, middle + low * slab.across));
    right.push_back(flattened(subject.frame, looking, middle + high * slab.across));
  }
  left.insert(left.end(), right.rbegin(), right.rend());
  return left;
}

/// Whether a board's face, and not its edge, is seen.
bool shows_face(const Subject& subject, Looking looking, const Board& board) {
  const auto& eye = looking == Looking::from_right ? subject.frame.left : subject.frame.up;
  return std::abs(board.up.dot(eye)) > 0.9;
}

std::vector<FlatBoard> flat_boards(const Subject& subject, Looking looking) {
  std::vector<FlatBoard> boards;
  for (const Board& board : subject.plan.boards) {
    Polygon points;
    for (const auto& corner : corners(board)) {
      points.push_back(flattened(subject.frame, looking, corner));
    }
    const Eigen::Vector3d middle =
        board.corner +
        (board.length * board.along + board.width * board.across + board.thickness * board.up) / 2;
    const double depth = looking == Looking::from_right ? -middle.dot(subject.frame.left)
                                                        : middle.dot(subject.frame.up);
    const bool slab = is_slab(board, subject.plan.order) && shows_face(subject, looking, board);
    boards.push_back({&board, slab ? slab_outline(subject, looking, board) : hull(points), depth});
  }
  std::stable_sort(boards.begin(), boards.end(),
                   [](const auto& a, const auto& b) { return a.depth < b.depth; });
  return boards;
}

/// Where a plane square to the log shows: over the greatest reach of its section, seen on edge.
Path parting_line(const Subject& subject, Looking looking, const Cut& cut) {
  Path ends = {Point(0, 1e9), Point(0, -1e9)};
  for (const auto& yz : section_outline_at(subject.shape, cut.point.x(), Bark::on)) {
    const Eigen::Vector3d arm(0.0, yz.x() - cut.point.y(), yz.y() - cut.point.z());
    const double forward = -cut.normal.dot(arm) / cut.normal.x();
    const Point q =
        flattened(subject.frame, looking, cut.point + arm + forward * Eigen::Vector3d::UnitX());
    if (q.y() < ends[0].y()) ends[0] = q;
    if (q.y() > ends[1].y()) ends[1] = q;
  }
  return ends;
}

Flat flatten(const Subject& subject, Looking looking) {
  Flat flat;
  flat.over = silhouette(subject, looking, Bark::on);
  flat.under = silhouette(subject, looking, Bark::off);
  for (std::size_t i = 0; i < subject.shape.stations.size(); ++i) {
    const auto& yz = subject.shape.axis[i];
    const Eigen::Vector3d p(subject.shape.stations[i], yz.x(), yz.y());
    flat.axis.push_back(flattened(subject.frame, looking, p));
  }
  flat.boards = flat_boards(subject, looking);
  for (const Cut* cut : parting_cuts(subject.plan)) {
    if (std::abs(cut->normal.x()) < 0.5) continue;
    flat.parting.emplace_back(cut->n, parting_line(subject, looking, *cut));
  }
  flat.extent = {flat.over.front(), flat.over.front()};
  for (const auto& p : flat.over) {
    flat.extent.low = flat.extent.low.cwiseMin(p);
    flat.extent.high = flat.extent.high.cwiseMax(p);
  }
  return flat;
}

Path placed(const Polygon& polygon, const Point& zero, double scale) {
  Path path;
  for (const auto& p : polygon) path.push_back(zero + p / scale);
  return path;
}

/// Whether a nearer board hides a point, mm of log.
bool hidden(const Flat& flat, std::size_t index, const Point& point) {
  return std::any_of(flat.boards.begin() + static_cast<std::ptrdiff_t>(index) + 1,
                     flat.boards.end(),
                     [&](const FlatBoard& nearer) { return contains(nearer.outline, point); });
}

/// Where the number of a board may stand: spots along it that no nearer board covers, those first
/// where the whole number finds room.
Path number_places(const Flat& flat, std::size_t index, const Point& zero, double scale) {
  const auto [low, high] = bounds(flat.boards[index].outline);
  const Point half(2.2 * scale, 1.0 * scale);  // of a number with two digits
  Path roomy;
  Path tight;
  for (const double across : {0.5, 0.2, 0.8}) {
    for (const double along :
         {0.5, 0.4, 0.6, 0.3, 0.7, 0.2, 0.8, 0.1, 0.9, 0.06, 0.94, 0.03, 0.97}) {
      const Point spot = low + Point(along, across).cwiseProduct(high - low);
      if (hidden(flat, index, spot)) continue;
      bool clear = true;
      for (const double x : {-1.0, 1.0}) {
        for (const double y : {-1.0, 1.0}) {
          clear = clear && !hidden(flat, index, spot + Point(x, y).cwiseProduct(half));
        }
      }
      (clear ? roomy : tight).push_back(zero + spot / scale);
    }
  }
  roomy.insert(roomy.end(), tight.begin(), tight.end());
  return roomy;
}

/// Beside the ends of a board too thin to bear its number, where no other board lies.
Path places_beside(const Flat& flat, std::size_t index, const Point& zero, double scale) {
  const Box box = bounds(flat.boards[index].outline);
  const double middle = (box.low.y() + box.high.y()) / 2;
  Path places;
  for (const double x : {box.high.x() + 2.8 * scale, box.low.x() - 2.8 * scale}) {
    const Point spot(x, middle);
    const bool on_board =
        std::any_of(flat.boards.begin(), flat.boards.end(),
                    [&](const auto& other) { return contains(other.outline, spot); });
    const bool in_log = contains(flat.under, spot - Point(2.0 * scale, 0)) &&
                        contains(flat.under, spot + Point(2.0 * scale, 0));
    if (!on_board && in_log) places.push_back(zero + spot / scale);
  }
  return places;
}

void draw_numbers(Svg& svg, const Flat& flat, const Point& zero, double scale) {
  Taken taken;
  // The nearest boards first: what is in sight gets its number before what peeps out.
  for (std::size_t i = flat.boards.size(); i-- > 0;) {
    const Box box = bounds(flat.boards[i].outline);
    const bool thin = (box.high.y() - box.low.y()) / scale < least_rise;
    const Path places =
        thin ? places_beside(flat, i, zero, scale) : number_places(flat, i, zero, scale);
    place_number(svg, taken, places, std::to_string(flat.boards[i].board->id), 2.8);
  }
}

void draw_view(Svg& svg, const Subject& subject, Looking looking, const Flat& flat,
               const Point& corner, double scale) {
  const bool right = looking == Looking::from_right;
  const Point zero = corner + Point(0, caption_room) - flat.extent.low / scale;
  svg.begin(right ? "id=\"view-side\"" : "id=\"view-above\"");
  const std::string name = right ? "Side" : "From above";
  svg.text(corner + Point(0, 3.2), name, {3.6, Anchor::start, true});
  svg.text(corner + Point(text_width(name, 3.6, true) + 2.0, 3.2),
           right ? "seen from the right" : "butt to the left", {3.0});
  svg.path(placed(flat.over, zero, scale), true, look::bark);
  svg.path(placed(flat.under, zero, scale), true, look::wood);
  const auto hatches = look::hatches(subject.plan);
  for (const auto& [board, outline, depth] : flat.boards) {
    svg.begin("", look::board_title(*board, subject.plan));
    svg.path(placed(outline, zero, scale), true, look::board(hatches.at(board->product)));
    svg.end();
  }
  svg.path(placed(flat.over, zero, scale), true, look::outline);
  svg.path(placed(flat.axis, zero, scale), false, look::axis);
  draw_numbers(svg, flat, zero, scale);
  for (const auto& [number, line] : flat.parting) {
    const Path ends = placed(line, zero, scale);
    svg.path(ends, false, look::dust(0.6));
    svg.path(ends, false, look::cut);
    svg.text(ends[1] + Point(0, 2.6), std::to_string(number),
             {2.8, Anchor::middle, true, look::cut_ink});
  }
  svg.end();
}

}  // namespace

Figure length_view(const Subject& subject, Looking looking) {
  const auto flat = std::make_shared<const Flat>(flatten(subject, looking));
  return {[flat](double scale) -> Point {
            const Point size = (flat->extent.high - flat->extent.low) / scale;
            const double caption = text_width("seen from the right", 3.0) + 24.0;
            const double below = below_room + (flat->parting.empty() ? 0.0 : 2.0);
            return {std::max(size.x(), caption), size.y() + caption_room + below};
          },
          [flat, &subject, looking](Svg& svg, const Point& corner, double scale) {
            draw_view(svg, subject, looking, *flat, corner, scale);
          }};
}

}  // namespace kerfwright::sheet
