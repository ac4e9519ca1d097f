#include "length_view.hpp"

#include <algorithm>
#include <map>
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
constexpr double least_rise = 2.4;  // of a board on paper, below which a number would hide more
constexpr double number_size = 2.8;
constexpr double lines_apart = 3.6;  // mm of paper between those that join numbers to boards
constexpr double outer_row = 3.8;    // of numbers above or below the log, with room for their lines

struct FlatBoard {
  const Board* board;
  Polygon outline;  // mm of log, y down
  Box box;          // about it
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
    Polygon outline = slab ? slab_outline(subject, looking, board) : hull(points);
    const Box box = bounds(outline);
    boards.push_back({&board, std::move(outline), box, depth});
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
                     flat.boards.end(), [&](const FlatBoard& nearer) {
                       const bool near = (point.array() >= nearer.box.low.array()).all() &&
                                         (point.array() <= nearer.box.high.array()).all();
                       return near && contains(nearer.outline, point);
                     });
}

/// Where the number of a board may stand, mm of log: spots along it that no nearer board covers.
struct Places {
  Polygon roomy, tight;  // the whole number finds room, or only its middle
};

Places number_places(const Flat& flat, std::size_t index, double scale) {
  const auto [low, high] = flat.boards[index].box;
  const Point half(2.2 * scale, 1.0 * scale);  // of a number with two digits
  Places places;
  for (const double across : {0.5, 0.2, 0.8}) {
    for (const double along :
         {0.5, 0.4, 0.6, 0.3, 0.7, 0.2, 0.8, 0.1, 0.9, 0.06, 0.94, 0.03, 0.97}) {
      const Point spot = low + Point(along, across).cwiseProduct(high - low);
      if (!contains(flat.boards[index].outline, spot) || hidden(flat, index, spot)) continue;
      bool clear = true;
      for (const double x : {-1.0, 1.0}) {
        for (const double y : {-1.0, 1.0}) {
          clear = clear && !hidden(flat, index, spot + Point(x, y).cwiseProduct(half));
        }
      }
      (clear ? places.roomy : places.tight).push_back(spot);
    }
  }
  return places;
}

/// A number outside of the log, joined to what it names.
struct OuterLabel {
  Point end;  // mm of paper, or of log before that is known
  std::string text;
  bool of_cut = false;
};

/// The numbers that find no room on their boards, above and below the log, and those of the
/// cross-cuts below it.
struct OuterLabels {
  std::vector<OuterLabel> above, below;
};

/// Height of the log's axis at a place of the view, mm of log.
double axis_height(const Flat& flat, double x) {
  const auto after = std::lower_bound(flat.axis.begin(), flat.axis.end(), x,
                                      [](const Point& p, double value) { return p.x() < value; });
  return after == flat.axis.end() ? flat.axis.back().y() : after->y();
}

/// Whether a board is drawn high enough to bear its number without hiding its neighbours.
bool bears_number(const FlatBoard& board, double scale) {
  return (board.box.high.y() - board.box.low.y()) / scale >= least_rise;
}

/// The first spot whose line runs apart from those of a row; the first of all where none does.
Point spot_apart(const Polygon& spots, const std::vector<OuterLabel>& row, double apart) {
  const auto clear = [&](const Point& spot) {
    return std::none_of(row.begin(), row.end(), [&](const OuterLabel& other) {
      return std::abs(other.end.x() - spot.x()) < apart;
    });
  };
  const auto found = std::find_if(spots.begin(), spots.end(), clear);
  return found == spots.end() ? spots.front() : *found;
}

OuterLabels outer_labels(const Flat& flat, double scale) {
  OuterLabels labels;
  for (std::size_t i = 0; i < flat.boards.size(); ++i) {
    const Places places = number_places(flat, i, scale);
    if (bears_number(flat.boards[i], scale) && !places.roomy.empty()) continue;
    if (places.roomy.empty() && places.tight.empty()) continue;  // nothing of it is in sight
    const Polygon& spots = places.roomy.empty() ? places.tight : places.roomy;
    const Point& first = spots.front();
    auto& row = first.y() < axis_height(flat, first.x()) ? labels.above : labels.below;
    const Point end = spot_apart(spots, row, lines_apart * scale);
    row.push_back({end, std::to_string(flat.boards[i].board->id)});
  }
  for (const auto& [number, line] : flat.parting) {
    labels.below.push_back({line[1], std::to_string(number), true});
  }
  return labels;
}

double outer_room(const std::vector<OuterLabel>& labels) {
  return labels.empty() ? 0.0 : outer_row;
}

/// A row of numbers, each with a line to what it names.
/// @param base where their lowest points stand, mm of paper
/// @param joint where their lines begin
void draw_row(Svg& svg, const std::vector<OuterLabel>& labels, const Box& across, double base,
              double joint) {
  std::vector<Slot> slots;
  for (const OuterLabel& label : labels) {
    slots.push_back({label.end.x(), text_width(label.text, number_size, true) + 1.0});
  }
  const std::vector<double> places = spread(slots, across.low.x(), across.high.x());
  for (std::size_t i = 0; i < labels.size(); ++i) {
    const OuterLabel& label = labels[i];
    svg.path({{places[i], joint}, label.end}, false, look::leader);
    if (!label.of_cut)
      svg.circle(label.end, 0.45, "fill=\"#1a1a1a\" stroke=\"#fff\" stroke-width=\"0.2\"");
    svg.text({places[i], base}, label.text,
             {number_size, Anchor::middle, true, label.of_cut ? look::cut_ink : "#1a1a1a"});
  }
}

void draw_numbers(Svg& svg, const Flat& flat, const Point& zero, double scale) {
  Taken taken;
  // The nearest boards first: what is in sight gets its number before what peeps out.
  for (std::size_t i = flat.boards.size(); i-- > 0;) {
    if (!bears_number(flat.boards[i], scale)) continue;
    const Path places = placed(number_places(flat, i, scale).roomy, zero, scale);
    place_number(svg, taken, places, std::to_string(flat.boards[i].board->id), number_size);
  }
}

std::vector<OuterLabel> on_paper(std::vector<OuterLabel> labels, const Point& zero, double scale) {
  for (OuterLabel& label : labels) label.end = zero + label.end / scale;
  return labels;
}

/// mm of paper that a view takes.
Point size_of(const Flat& flat, double scale) {
  const Point size = (flat.extent.high - flat.extent.low) / scale;
  const double caption = text_width("seen from the right", 3.0) + 24.0;
  const OuterLabels labels = outer_labels(flat, scale);
  return {std::max(size.x(), caption), size.y() + caption_room + outer_room(labels.above) +
                                           std::max(below_room, outer_room(labels.below))};
}

void draw_view(Svg& svg, const Subject& subject, Looking looking, const Flat& flat,
               const Point& corner, double scale) {
  const bool right = looking == Looking::from_right;
  const OuterLabels labels = outer_labels(flat, scale);
  const Point log = corner + Point(0, caption_room + outer_room(labels.above));
  const Point zero = log - flat.extent.low / scale;
  svg.begin(right ? "id=\"view-side\"" : "id=\"view-above\"");
  const std::string name = right ? "Side" : "From above";
  svg.text(corner + Point(0, 3.2), name, {3.6, Anchor::start, true});
  svg.text(corner + Point(text_width(name, 3.6, true) + 2.0, 3.2),
           right ? "seen from the right" : "butt to the left", {3.0});
  svg.path(placed(flat.over, zero, scale), true, look::bark);
  svg.path(placed(flat.under, zero, scale), true, look::wood);
  const auto hatches = look::hatches(subject.plan);
  for (const auto& [board, outline, box, depth] : flat.boards) {
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
  }
  const Point size = size_of(flat, scale);
  const double bottom = corner.y() + size.y();
  draw_row(svg, on_paper(labels.above, zero, scale), {corner, corner + size},
           log.y() - outer_row + number_size, log.y() - outer_row + number_size + 0.4);
  draw_row(svg, on_paper(labels.below, zero, scale), {corner, corner + size}, bottom,
           bottom - 0.73 * number_size - 0.4);
  svg.end();
}

}  // namespace

Figure length_view(const Subject& subject, Looking looking) {
  const auto flat = std::make_shared<const Flat>(flatten(subject, looking));
  // A layout asks for every scale again and again.
  const auto sizes = std::make_shared<std::map<double, Point>>();
  return {[flat, sizes](double scale) {
            const auto known = sizes->find(scale);
            if (known != sizes->end()) return known->second;
            return sizes->emplace(scale, size_of(*flat, scale)).first->second;
          },
          [flat, &subject, looking](Svg& svg, const Point& corner, double scale) {
            draw_view(svg, subject, looking, *flat, corner, scale);
          }};
}

}  // namespace kerfwright::sheet
