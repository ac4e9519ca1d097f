#include "resaw.hpp"

#include <algorithm>
#include <cmath>
#include <map>

#include "frame.hpp"
#include "lane_marks.hpp"
#include "worth.hpp"

namespace kerfwright::saw {
namespace {

constexpr double parallel = 0.99;  // cosine, of two faces of one flitch
constexpr double upright = 0.2;    // cosine, of a face beside it
constexpr double same_roll = 1e-9;
constexpr double same_lean = 2e-5;  // mm per mm; leans are whole tenths of a mm per m

/// The upward direction of a section that lies turned by `roll`.
Eigen::Vector3d section_up(double roll) { return {0.0, std::sin(roll), std::cos(roll)}; }

/// A plane with its upward side the same as `up`.
SawnPlane turned_up(SawnPlane plane, const Eigen::Vector3d& up) {
  if (plane.up.dot(up) >= 0.0) return plane;
  plane.up = -plane.up;
  plane.height = -plane.height;
  return plane;
}

const FlitchClass* class_of(const Catalogue& catalogue, double thickness, bool live_edges) {
  for (const FlitchClass& flitch : catalogue.classes) {
    if (flitch.slabs.empty() == live_edges) continue;
    if (std::abs(flitch.thickness - thickness) < 1e-6) return &flitch;
  }
  return nullptr;
}

/// Whether pieces are told by the length of clear runs alone.
bool by_halves(const FlitchClass& flitch, const FlitchWood& seen) {
  return !seen.marks && flitch.slabs.empty() &&
         std::none_of(flitch.lanes.begin(), flitch.lanes.end(),
                      [](const Lane& lane) { return lane.partly_waney(); });
}

double bottom_of(const FlitchPlanes& planes) {
  return planes.low_butt * std::sqrt(1.0 - planes.pose.slope * planes.pose.slope);
}

/// A run that ends within the flitch is counted half a cell longer than its clear cells, one that
/// ends with the flitch is not.
void spare_ends(Segment& segment) {
  const double half = -0.5 * segment.wood.end_loss;
  const auto first = static_cast<std::size_t>(segment.first_cell);
  const auto last = static_cast<std::size_t>(segment.last_cell);
  std::vector<double>& border = segment.border;
  const double middle = 0.5 * (border[first] + border[last + 1]);
  border[first] = std::min({border[first] + half, border[first + 1], middle});
  border[last + 1] = std::max({border[last + 1] - half, border[last], middle});
}

}  // namespace

Resaw::Resaw(const SawPlan& plan, const LogShape& shape, const Wood& wood)
    : plan_(plan), shape_(shape), wood_(wood), cuts_(plan, shape.length()) {
  for (const Board& board : plan.boards) {
    const Product* product = product_of(board, plan.order);
    const auto& products = plan.order.products;
    product_.push_back(
        static_cast<int>(product == nullptr ? products.size() : product - products.data()));
  }
  find_flitches();
}

void Resaw::find_flitches() {
  std::map<std::string, std::size_t> known;
  for (std::size_t i = 0; i < plan_.boards.size(); ++i) {
    const Board& board = plan_.boards[i];
    const std::string& piece = cuts_.off_the_mill(board.piece);
    const auto [at, is_new] = known.emplace(piece, flitches_.size());
    if (is_new) {
      Flitch flitch;
      flitch.thickness = board.thickness;
      const auto product = static_cast<std::size_t>(product_[i]);
      const auto& products = plan_.order.products;
      flitch.live_edges = product < products.size() && products[product].live_edge;
      flitch.up = board.up;
      flitch.middle = board.up.dot(board.corner) + 0.5 * board.thickness;
      flitch.boards = {i};
      find_faces(flitch, piece);
      flitches_.push_back(std::move(flitch));
    } else {
      flitches_[at->second].boards.push_back(i);
    }
    flitches_[at->second].value += board.value;
  }
  for (Flitch& flitch : flitches_) {
    if (!flitch.live_edges) find_segments(flitch);
  }
  std::stable_sort(flitches_.begin(), flitches_.end(),
                   [](const Flitch& a, const Flitch& b) { return a.value > b.value; });
}

/// The nearest cut on each side of the first board of a flitch.
void Resaw::find_faces(Flitch& flitch, const std::string& piece) const {
  const std::vector<SawnPlane> meant = cuts_.planned();
  const Pose pose = pose_with_up(flitch.up);
  const Frame frame(pose);
  const Board& board = plan_.boards[flitch.boards.front()];
  const Eigen::Vector3d middle =
      board.corner +
      0.5 * (board.length * board.along + board.width * board.across + board.thickness * board.up);
  struct Nearest {
    std::optional<std::size_t>& cut;
    double gap = 1e9;
  };
  Nearest below{flitch.below}, above{flitch.above}, left{flitch.left}, right{flitch.right};
  const auto take = [](Nearest& nearest, std::size_t cut, double gap) {
    if (gap >= nearest.gap) return;
    nearest.gap = gap;
    nearest.cut = cut;
  };
  for (const std::size_t i : cuts_.made_by(piece)) {
    const double cosine = std::abs(meant[i].up.dot(flitch.up));
    if (cosine > parallel) {
      const double gap = turned_up(meant[i], flitch.up).height - flitch.middle;
      take(gap > 0.0 ? above : below, i, std::abs(gap));
    } else if (cosine < upright && std::abs(meant[i].up.dot(frame.across)) > parallel) {
      const double aloft = section_up(pose.roll).dot(middle);
      const double at = meant[i].lateral(middle.x(), aloft, frame.across, section_up(pose.roll));
      const double gap = at - frame.across.dot(middle);
      take(gap > 0.0 ? right : left, i, std::abs(gap));
    }
  }
  const FlitchPlanes planned = planes_of(flitch, meant);
  flitch.lean = planned.lean;
  if (planned.left && planned.right) flitch.size = *planned.right - *planned.left;
}

/// Where a board lies between the cross-cuts that were made before its lane was ripped.
PlannedSegment Resaw::segment_of(const Board& board, const Flitch& flitch) const {
  const Pose pose = pose_with_up(flitch.up);
  const Frame frame(pose);
  const double lean = board.along.dot(frame.across) / board.along.dot(frame.along) /
                      std::sqrt(1.0 - pose.slope * pose.slope);
  PlannedSegment segment{0.0, shape_.length(), lean};
  if (std::abs(lean - flitch.lean) < same_lean) segment.lean = flitch.lean;
  PlannedSegment cut_out = segment;
  for (const std::size_t i : cuts_.made_by_hand(board.piece)) {
    const Cut& cut = plan_.cuts[i];
    const bool ripped = std::abs(cut.normal.dot(frame.along)) < parallel;
    if (ripped) return cut_out;
    const Eigen::Vector3d middle = board.corner + 0.5 * board.length * board.along;
    const bool beyond = cut.normal.dot(middle - cut.point) * cut.normal.x() > 0.0;
    (beyond ? cut_out.from : cut_out.to) = cut.point.x();
  }
  return segment;  // cut to length only
}

/// None where the flitch is ripped in one piece, level.
void Resaw::find_segments(Flitch& flitch) const {
  for (const std::size_t i : flitch.boards) {
    const PlannedSegment found = segment_of(plan_.boards[i], flitch);
    const bool known = std::any_of(
        flitch.segments.begin(), flitch.segments.end(),
        [&](const PlannedSegment& other) { return std::abs(other.from - found.from) < 1.0; });
    if (!known) flitch.segments.push_back(found);
  }
  const auto plain = [&](const PlannedSegment& segment) {
    return segment.from == 0.0 && segment.to == shape_.length() && segment.lean == flitch.lean;
  };
  if (std::all_of(flitch.segments.begin(), flitch.segments.end(), plain)) flitch.segments.clear();
}

FlitchPlanes Resaw::planes_of(const Flitch& flitch, const std::vector<SawnPlane>& planes) const {
  SawnPlane low{flitch.up, flitch.middle - 0.5 * flitch.thickness, 0.0};
  const double half = 0.5 * plan_.mill.kerf;
  if (flitch.below) {
    low = turned_up(planes[*flitch.below], flitch.up);
    low.height += half;
  }
  SawnPlane high{low.up, low.height + flitch.thickness, 0.0};
  if (flitch.above) {
    high = turned_up(planes[*flitch.above], flitch.up);
    high.height -= half;
    if (!flitch.below) low = {high.up, high.height - flitch.thickness, 0.0};
  }
  FlitchPlanes sawn;
  sawn.pose = pose_with_up(low.up);
  const double low_cos = low.up.tail<2>().norm();
  const double high_cos = high.up.tail<2>().norm();
  sawn.low_butt = low.height / low_cos;
  sawn.low_rise = -low.up.x() / low_cos;
  sawn.high_butt = high.height / high_cos;
  sawn.high_rise = -high.up.x() / high_cos;
  bound_sides(flitch, planes, sawn);
  return sawn;
}

/// Sawn faces beside the flitch, at half its thickness. A cant is as wide as it was meant to be.
void Resaw::bound_sides(const Flitch& flitch, const std::vector<SawnPlane>& planes,
                        FlitchPlanes& sawn) const {
  const Frame frame(sawn.pose);
  const double length = shape_.length();
  const auto stands = [&](std::size_t cut, double x, double side) {
    const double aloft =
        0.5 * (sawn.low_butt + sawn.high_butt + (sawn.low_rise + sawn.high_rise) * x);
    const SawnPlane& plane = planes[cut];
    return plane.lateral(x, aloft, frame.across, section_up(sawn.pose.roll)) +
           side * 0.5 * plan_.mill.kerf / std::abs(plane.up.dot(frame.across));
  };
  if (flitch.right) {
    sawn.right = stands(*flitch.right, 0.0, -1.0);
    sawn.lean = (stands(*flitch.right, length, -1.0) - *sawn.right) / length;
  }
  if (flitch.left) {
    sawn.left = stands(*flitch.left, 0.0, 1.0);
    sawn.lean = (stands(*flitch.left, length, 1.0) - *sawn.left) / length;
    if (flitch.right && flitch.size > 0.0) sawn.right = *sawn.left + flitch.size;
  }
}

/// [flitch]; flitches of one roll are looked at together.
std::vector<FlitchWood> Resaw::woods_of(const DrawnWood& drawn,
                                        const std::vector<FlitchPlanes>& sawn,
                                        const Catalogue& catalogue) const {
  std::vector<FlitchWood> woods(sawn.size());
  std::vector<char> done(sawn.size(), 0);
  const double cell = wood_.length() / wood_.cells();
  for (std::size_t first = 0; first < sawn.size(); ++first) {
    if (done[first] != 0) continue;
    std::vector<std::size_t> group;
    std::vector<FlitchPlanes> planes;
    std::vector<const FlitchClass*> classes;
    for (std::size_t i = first; i < sawn.size(); ++i) {
      if (std::abs(sawn[i].pose.roll - sawn[first].pose.roll) > same_roll) continue;
      done[i] = 1;
      const FlitchClass* made =
          class_of(catalogue, flitches_[i].thickness, flitches_[i].live_edges);
      if (made == nullptr) continue;
      group.push_back(i);
      planes.push_back(sawn[i]);
      classes.push_back(made);
    }
    auto found = woods_between(shape_, drawn, wood_, catalogue, planes, classes);
    for (std::size_t k = 0; k < group.size(); ++k) {
      // Clear wood ends somewhere within a cell that is not clear to its border: half a cell is
      // what that is worth in the mean. Ends a hair out of square are the trade's tolerance.
      found[k].end_loss = by_halves(*classes[k], found[k]) ? -0.5 * cell : 0.0;
      found[k].lean = 0.0;
      woods[group[k]] = std::move(found[k]);
    }
  }
  return woods;
}

Sawn Resaw::saw(const DrawnWood& drawn, const std::vector<SawnPlane>& planes,
                Catalogues& catalogues) const {
  Sawn sawn;
  sawn.there.assign(plan_.boards.size(), 0);
  std::vector<FlitchPlanes> flitches;
  for (const Flitch& flitch : flitches_) flitches.push_back(planes_of(flitch, planes));
  const std::vector<FlitchWood> woods = woods_of(drawn, flitches, catalogues.all());
  Remaining remaining;
  for (const Product& product : plan_.order.products) {
    remaining.push_back(product.beyond > 0.0 ? std::nullopt : product.wanted);
  }
  for (std::size_t i = 0; i < flitches_.size(); ++i) {
    std::vector<bool> unwanted;
    for (const auto& left : remaining) unwanted.push_back(left && *left <= 0);
    const Edged made =
        edged(flitches_[i], flitches[i], woods[i], catalogues.without(unwanted), remaining);
    for (const Piece& piece : made.pieces) {
      auto& left = remaining[static_cast<std::size_t>(piece.product)];
      if (left) --*left;
    }
    sawn.value += made.value;
    look_for_boards(flitches_[i], made, sawn);
  }
  return sawn;
}

Resaw::Edged Resaw::edged(const Flitch& flitch, const FlitchPlanes& planes, const FlitchWood& seen,
                          const Catalogue& catalogue, const Remaining& remaining) const {
  const FlitchClass* made = class_of(catalogue, flitch.thickness, flitch.live_edges);
  if (made == nullptr) return {};
  Segment whole;
  whole.first_cell = seen.first_cell;
  whole.last_cell = seen.last_cell;
  whole.wood = seen;
  whole.border = wood_.border;
  spare_ends(whole);
  Edged level = laid_out(*made, {whole}, planes, catalogue, remaining);
  if (flitch.segments.empty()) return level;
  const std::vector<Segment> segments = segments_of(flitch, *made, planes, seen, catalogue);
  Edged planned = laid_out(*made, segments, planes, catalogue, remaining);
  return planned.value >= level.value ? planned : level;
}

/// Its planned segments in the wood that was found.
std::vector<Segment> Resaw::segments_of(const Flitch& flitch, const FlitchClass& made,
                                        const FlitchPlanes& planes, const FlitchWood& seen,
                                        const Catalogue& catalogue) const {
  const MarksAt marks = [&](double lean) {
    return flitch_marks(wood_, planes.pose, bottom_of(planes), planes.high_butt - planes.low_butt,
                        planes.lean + lean, catalogue.kerf);
  };
  std::vector<Segment> segments;
  for (const PlannedSegment& planned : flitch.segments) {
    const int first = std::max(seen.first_cell, nearest_border(wood_.border, planned.from));
    const int last = std::min(seen.last_cell, nearest_border(wood_.border, planned.to) - 1);
    if (last < first) continue;
    segments.push_back(
        saw::segment_of(made, seen, wood_.border, first, last, planned.lean - flitch.lean,
                        0.5 * catalogue.kerf + cross_cut_spare(catalogue.tape_step),
                        lean_spare(catalogue.tape_step), wood_.exact_cells(), marks));
    spare_ends(segments.back());
  }
  return segments;
}

Resaw::Edged Resaw::laid_out(const FlitchClass& made, const std::vector<Segment>& segments,
                             const FlitchPlanes& planes, const Catalogue& catalogue,
                             const Remaining& remaining) const {
  Edged edged;
  Remaining still = remaining;
  for (const Segment& segment : segments) {
    Edger edger(catalogue, segment.border);
    for (const Piece& piece : edger.layout(made, segment.wood)) {
      auto& left = still[static_cast<std::size_t>(piece.product)];
      if (left && *left <= 0) continue;
      const double value = value_of(piece, segment, planes);
      if (value <= 0.0) continue;
      if (left) --*left;
      edged.value += value;
      edged.pieces.push_back(piece);
      edged.values.push_back(value);
    }
  }
  return edged;
}

double Resaw::value_of(const Piece& piece, const Segment& segment,
                       const FlitchPlanes& planes) const {
  const Product& product = plan_.order.products[static_cast<std::size_t>(piece.product)];
  const auto at = static_cast<std::size_t>(piece.length);
  const double full = clear_value(product, at, piece.width);
  if (!segment.wood.marks) return full;
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

/// A board came if the flitch gave one of its product and length, or another worth as much.
void Resaw::look_for_boards(const Flitch& flitch, const Edged& edged, Sawn& sawn) const {
  const std::vector<Piece>& pieces = edged.pieces;
  const std::vector<double>& values = edged.values;
  std::vector<char> used(pieces.size(), 0);
  const auto give = [&](std::size_t board, const auto& suits) {
    for (std::size_t k = 0; k < pieces.size(); ++k) {
      if (used[k] != 0 || !suits(k)) continue;
      used[k] = 1;
      sawn.there[board] = 1;
      return;
    }
  };
  for (const std::size_t i : flitch.boards) {
    give(i, [&](std::size_t k) {
      const Product& product = plan_.order.products[static_cast<std::size_t>(pieces[k].product)];
      return pieces[k].product == product_[i] &&
             product.lengths[static_cast<std::size_t>(pieces[k].length)] == plan_.boards[i].length;
    });
  }
  for (const std::size_t i : flitch.boards) {
    if (sawn.there[i] != 0) continue;
    give(i, [&](std::size_t k) { return values[k] >= plan_.boards[i].value - 1e-9; });
  }
}

}  // namespace kerfwright::saw
