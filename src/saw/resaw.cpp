#include "resaw.hpp"

#include <algorithm>
#include <cmath>
#include <map>

#include "frame.hpp"

namespace kerfwright::saw {
namespace {

constexpr double parallel = 0.99;  // cosine, of two faces of one flitch
constexpr double upright = 0.2;    // cosine, of a face beside it
constexpr double same_roll = 1e-9;
constexpr double same_lean = 2e-5;  // mm per mm; leans are whole tenths of a mm per m
constexpr double same_place = 1.0;  // mm

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
    if (!flitch.live_edges) find_lanes(flitch);
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
Resaw::PlannedSegment Resaw::segment_of(const Board& board, const Flitch& flitch) const {
  const Pose pose = pose_with_up(flitch.up);
  const Frame frame(pose);
  const double lean = board.along.dot(frame.across) / board.along.dot(frame.along) /
                      std::sqrt(1.0 - pose.slope * pose.slope);
  PlannedSegment segment{0.0, shape_.length(), lean};
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

void Resaw::find_lanes(Flitch& flitch) const {
  const auto add = [](std::vector<double>& known, double value, double same) {
    const bool found = std::any_of(known.begin(), known.end(),
                                   [&](double other) { return std::abs(other - value) < same; });
    if (!found) known.push_back(value);
  };
  for (const std::size_t i : flitch.boards) {
    const PlannedSegment segment = segment_of(plan_.boards[i], flitch);
    add(flitch.leans, segment.lean - flitch.lean, same_lean);
    if (segment.from > 0.0) add(flitch.places, segment.from, same_place);
    if (segment.to < shape_.length()) add(flitch.places, segment.to, same_place);
  }
  std::sort(flitch.places.begin(), flitch.places.end());
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
      found[k].end_loss = -untold_ends(*classes[k], found[k], wood_);
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
    const Catalogue& catalogue = catalogues.without(unwanted);
    const Flitch& flitch = flitches_[i];
    const FlitchClass* made_as = class_of(catalogue, flitch.thickness, flitch.live_edges);
    if (made_as == nullptr) continue;
    const FlitchInHand in_hand{*made_as, flitches[i], woods[i], flitch.places, flitch.leans};
    const EdgedInHand made = edged_in_hand(in_hand, wood_, plan_.order, catalogue, remaining);
    for (const Piece& piece : made.pieces) {
      auto& left = remaining[static_cast<std::size_t>(piece.product)];
      if (left) --*left;
    }
    sawn.value += made.value;
    look_for_boards(flitch, made, sawn);
  }
  return sawn;
}

/// A board came if the flitch gave one of its product and length, or another worth as much, or in
/// all as much as was planned, since a person may find a better way than the plan's and take it.
void Resaw::look_for_boards(const Flitch& flitch, const EdgedInHand& edged, Sawn& sawn) const {
  if (edged.value >= flitch.value - 1e-9) {
    for (const std::size_t i : flitch.boards) sawn.there[i] = 1;
    return;
  }
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
