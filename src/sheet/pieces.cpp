#include "pieces.hpp"

#include <Eigen/Geometry>
#include <algorithm>
#include <cmath>

#include "kerfwright/shape/section.hpp"

namespace kerfwright::sheet {
namespace {

constexpr double parallel = 0.999;  // cosine from which two directions count as one

/// Up in the log frame to a whole frame; where up runs along the log, x is "up" at the saw.
Frame frame_with_up(const Eigen::Vector3d& up) {
  const Eigen::Vector3d x = Eigen::Vector3d::UnitX();
  Eigen::Vector3d along = x - up.x() * up;
  if (along.norm() < 1e-6) along = Eigen::Vector3d::UnitY();
  along.normalize();
  return {along, up.cross(along), up};
}

std::string letter_of(std::size_t index) {
  const std::string letter(1, static_cast<char>('A' + static_cast<char>(index % 26)));
  return index < 26 ? letter : letter + std::to_string(index / 26 + 1);
}

/// How many of the first cuts are made on the mill: up to and with the last one.
std::size_t mill_depth(const SawPlan& plan, const std::vector<Side>& ancestry) {
  std::size_t depth = 0;
  for (std::size_t i = 0; i < ancestry.size(); ++i) {
    if (is_mill_cut(plan, *ancestry[i].cut)) depth = i + 1;
  }
  return depth;
}

/// Whether a cut across a flitch leaves boards on both sides, of which some are then ripped.
bool parts_a_flitch(const SawPlan& plan, const PieceTree& tree, const Cut& cut) {
  const auto kind_of = [&](const Cut& other) {
    const Setup* setup = setup_of(plan, other.setup);
    return setup == nullptr ? SetupKind::log : setup->kind;
  };
  if (kind_of(cut) != SetupKind::cross_cut) return false;
  for (const std::string& side : {cut.above, cut.below}) {
    const bool has_board =
        std::any_of(plan.boards.begin(), plan.boards.end(),
                    [&](const Board& board) { return tree.comes_of(board.piece, side); });
    if (!has_board) return false;
  }
  const auto later = tree.cuts_below(cut.piece);
  return std::any_of(later.begin(), later.end(),
                     [&](const Cut* other) { return kind_of(*other) == SetupKind::edging; });
}

/// The heights of the two faces: from the cuts, or where the flitch has none there, from its
/// boards.
void set_faces(Flitch& flitch) {
  double low = -1e9;
  double high = 1e9;
  for (const Side& side : flitch.ancestry) {
    const double facing = side.cut->normal.dot(flitch.frame.up) * (side.above ? 1.0 : -1.0);
    const double plane = side.cut->point.dot(flitch.frame.up);
    if (facing > parallel) low = std::max(low, plane + side.cut->kerf / 2);
    if (facing < -parallel) high = std::min(high, plane - side.cut->kerf / 2);
  }
  double board_low = 1e9;
  double board_high = -1e9;
  for (const Board* board : flitch.boards) {
    for (const auto& corner : corners(*board)) {
      board_low = std::min(board_low, corner.dot(flitch.frame.up));
      board_high = std::max(board_high, corner.dot(flitch.frame.up));
    }
  }
  flitch.low = low > -1e9 ? low : board_low;
  flitch.high = high < 1e9 ? high : board_high;
}

bool parts_the_log(const Cut& cut) { return std::abs(cut.normal.x()) > 0.7; }

/// The stations between the ends of the piece, and those ends, taken at the middle of the face.
template <class EdgeAt>
std::vector<double> face_stations(const LogShape& shape, const std::vector<Side>& parting,
                                  const EdgeAt& edge_at) {
  double from = 0.0;
  double to = shape.length();
  for (const Side& side : parting) {
    const Eigen::Vector3d& normal = side.cut->normal;
    const bool beyond = side.above == (normal.x() > 0.0);
    const double kerf = (side.above ? 0.5 : -0.5) * side.cut->kerf;
    double x = std::clamp(side.cut->point.x(), 0.0, shape.length());
    if (const auto edge = edge_at(x)) {
      const double off = normal.tail<2>().dot(side.cut->point.tail<2>() - edge->middle) + kerf;
      x = std::clamp(x + off / normal.x(), 0.0, shape.length());
    }
    (beyond ? from : to) = beyond ? std::max(from, x) : std::min(to, x);
  }
  std::vector<double> stations;
  if (from > 0.0) stations.push_back(from);
  for (const double x : shape.stations) {
    if (x >= from && x <= to) stations.push_back(x);
  }
  if (to < shape.length()) stations.push_back(to);
  return stations;
}

double face_width(const LogShape& shape, const Flitch& flitch, bool upper) {
  double sum = 0.0;
  for (const FaceEdge& edge : face_edges(shape, flitch, upper)) sum += edge.left - edge.right;
  return sum;
}

/// Lays the flitch so that its narrower face is up, as one sees both edges then.
void lay_down(const LogShape& shape, Flitch& flitch) {
  const Cut* cut = flitch.cut_off();
  flitch.frame = frame_with_up(cut == nullptr ? Eigen::Vector3d::UnitZ() : cut->normal);
  set_faces(flitch);
  if (face_width(shape, flitch, true) > face_width(shape, flitch, false) + 1e-6) {
    flitch.frame = frame_with_up(-flitch.frame.up);
    set_faces(flitch);
  }
}

}  // namespace

const Setup* setup_of(const SawPlan& plan, int n) {
  const auto found = std::find_if(plan.setups.begin(), plan.setups.end(),
                                  [n](const Setup& setup) { return setup.n == n; });
  return found == plan.setups.end() ? nullptr : &*found;
}

PieceTree::PieceTree(const SawPlan& plan) {
  for (const Cut& cut : plan.cuts) {
    sawn_.emplace(cut.piece, &cut);
    made_.emplace(cut.above, Side{&cut, true});
    made_.emplace(cut.below, Side{&cut, false});
  }
}

std::vector<Side> PieceTree::ancestry(const std::string& piece) const {
  std::vector<Side> sides;
  auto at = made_.find(piece);
  while (at != made_.end() && sides.size() <= made_.size()) {
    sides.push_back(at->second);
    at = at->second.cut->piece == "log" ? made_.end() : made_.find(at->second.cut->piece);
  }
  std::reverse(sides.begin(), sides.end());
  return sides;
}

const Cut* PieceTree::sawn_by(const std::string& piece) const {
  const auto found = sawn_.find(piece);
  return found == sawn_.end() ? nullptr : found->second;
}

bool PieceTree::comes_of(const std::string& piece, const std::string& whole) const {
  if (piece == whole || whole == "log") return true;
  const auto sides = ancestry(piece);
  return std::any_of(sides.begin(), sides.end(),
                     [&](const Side& side) { return side.name() == whole; });
}

std::vector<const Cut*> PieceTree::cuts_below(const std::string& piece) const {
  std::vector<const Cut*> cuts;
  std::vector<std::string> open = {piece};
  while (!open.empty() && cuts.size() <= sawn_.size()) {
    const Cut* cut = sawn_by(open.back());
    open.pop_back();
    if (cut == nullptr) continue;
    cuts.push_back(cut);
    open.push_back(cut->above);
    open.push_back(cut->below);
  }
  std::sort(cuts.begin(), cuts.end(), [](const Cut* a, const Cut* b) { return a->n < b->n; });
  return cuts;
}

Frame frame_of(const Setup& setup, double length) { return frame_with_up(setup_up(setup, length)); }

Setup main_setup(const SawPlan& plan) {
  for (const Setup& setup : plan.setups) {
    if (setup.kind == SetupKind::log) return setup;
  }
  return plan.setups.empty() ? Setup{} : plan.setups.front();
}

std::vector<Lying> lying_parts(const SawPlan& plan, double length) {
  std::vector<Lying> parts;
  for (const Setup& setup : plan.setups) {
    if (setup.kind != SetupKind::log || !setup.part) continue;
    const bool known = std::any_of(parts.begin(), parts.end(), [&](const Lying& part) {
      return part.name == setup.part->piece;
    });
    if (known) continue;
    parts.push_back(
        {setup.part->piece, setup.part->butt.x(), setup.part->top.x(), frame_of(setup, length)});
  }
  std::stable_sort(parts.begin(), parts.end(),
                   [](const Lying& a, const Lying& b) { return a.from < b.from; });
  if (parts.empty()) parts.push_back({"log", 0.0, length, frame_of(main_setup(plan), length)});
  return parts;
}

std::vector<const Cut*> parting_cuts(const SawPlan& plan) {
  std::vector<const Cut*> cuts;
  for (const Cut& cut : plan.cuts) {
    const Setup* setup = setup_of(plan, cut.setup);
    if (setup == nullptr || setup->kind != SetupKind::cross_cut) break;
    cuts.push_back(&cut);
  }
  return cuts;
}

bool is_mill_cut(const SawPlan& plan, const Cut& cut) {
  const Setup* setup = setup_of(plan, cut.setup);
  return setup == nullptr || on_mill(setup->kind);
}

std::vector<Flitch> find_flitches(const SawPlan& plan, const LogShape& shape) {
  const PieceTree tree(plan);
  std::vector<Flitch> flitches;
  for (const Board& board : plan.boards) {
    auto ancestry = tree.ancestry(board.piece);
    const std::size_t on_mill = mill_depth(plan, ancestry);
    std::size_t depth = on_mill;
    while (depth < ancestry.size() && parts_a_flitch(plan, tree, *ancestry[depth].cut)) ++depth;
    ancestry.resize(depth);
    const std::string piece = ancestry.empty() ? "log" : ancestry.back().name();
    auto found = std::find_if(flitches.begin(), flitches.end(),
                              [&](const Flitch& flitch) { return flitch.piece == piece; });
    if (found == flitches.end()) {
      Flitch flitch;
      flitch.piece = piece;
      flitch.ancestry = ancestry;
      flitch.on_mill = on_mill;
      flitch.cuts = tree.cuts_below(piece);
      found = flitches.insert(flitches.end(), flitch);
    }
    found->boards.push_back(&board);
  }
  const auto order = [](const Flitch& flitch) {
    const Cut* cut = flitch.cut_off();
    if (cut == nullptr) return 0;
    return 2 * cut->n + (flitch.ancestry[flitch.on_mill - 1].above ? 0 : 1);
  };
  std::stable_sort(flitches.begin(), flitches.end(),
                   [&](const Flitch& a, const Flitch& b) { return order(a) < order(b); });
  // What is chalked on a flitch stays; new letters follow on those that were given.
  std::size_t wholes = plan.chalked.size();
  const auto letter = [&](const std::string& piece) {
    const auto chalked = plan.chalked.find(piece);
    return chalked != plan.chalked.end() ? chalked->second : letter_of(wholes++);
  };
  int part = 0;
  for (std::size_t i = 0; i < flitches.size(); ++i) {
    Flitch& flitch = flitches[i];
    const bool same = i > 0 && flitch.is_part() && flitches[i - 1].is_part() &&
                      flitch.off_the_mill() == flitches[i - 1].off_the_mill();
    part = same ? part + 1 : 1;
    flitch.whole = same ? flitches[i - 1].whole : letter(flitch.off_the_mill());
    flitch.letter = flitch.is_part() ? flitch.whole + std::to_string(part) : flitch.whole;
    lay_down(shape, flitch);
  }
  return flitches;
}

Polygon piece_section(const LogShape& shape, double x, Bark bark,
                      const std::vector<Side>& ancestry) {
  return within_piece(section_outline_at(shape, x, bark), x, ancestry);
}

Polygon within_piece(Polygon polygon, double x, const std::vector<Side>& ancestry) {
  for (const Side& side : ancestry) {
    const Eigen::Vector3d normal =
        side.above ? side.cut->normal : Eigen::Vector3d(-side.cut->normal);
    const double offset = normal.dot(side.cut->point) + side.cut->kerf / 2 - normal.x() * x;
    polygon = clipped(polygon, {normal.tail<2>(), offset});
  }
  return polygon;
}

std::vector<Side> lengthwise(std::vector<Side> ancestry) {
  std::erase_if(ancestry, [](const Side& side) { return parts_the_log(*side.cut); });
  return ancestry;
}

double axis_meets(const LogShape& shape, const Eigen::Vector3d& normal, double offset) {
  double x = std::clamp(offset / normal.x(), 0.0, shape.length());
  for (int i = 0; i < 6; ++i) {  // the axis bends little between two rounds
    x = (offset - normal.tail<2>().dot(axis_at(shape, x))) / normal.x();
    x = std::clamp(x, 0.0, shape.length());
  }
  return x;
}

Reach reach_of(const LogShape& shape, const std::vector<Side>& ancestry) {
  Reach reach{0.0, shape.length()};
  for (const Side& side : ancestry) {
    if (!parts_the_log(*side.cut)) continue;
    const Eigen::Vector3d inward =
        side.above ? side.cut->normal : Eigen::Vector3d(-side.cut->normal);
    const double x = axis_meets(shape, inward, inward.dot(side.cut->point) + side.cut->kerf / 2);
    if (inward.x() > 0.0) reach.from = std::max(reach.from, x);
    if (inward.x() < 0.0) reach.to = std::min(reach.to, x);
  }
  return reach;
}

std::vector<FaceEdge> face_edges(const LogShape& shape, const Flitch& flitch, bool upper) {
  // A hair inside the face, so that the cut that makes it does not swallow the line.
  const double height = upper ? flitch.high - 0.01 : flitch.low + 0.01;
  std::vector<Side> sides = flitch.ancestry;
  std::vector<Side> parting;
  for (const Side& side : sides) {
    if (parts_the_log(*side.cut)) parting.push_back(side);
  }
  std::erase_if(sides, [](const Side& side) { return parts_the_log(*side.cut); });
  const auto edge_at = [&](double x) -> std::optional<FaceEdge> {
    const Polygon section = piece_section(shape, x, Bark::off, sides);
    const auto& up = flitch.frame.up;
    const auto span = span_on_line(section, up.tail<2>(), height - up.x() * x);
    if (!span) return std::nullopt;
    const double a = flitch.frame.left.dot(Eigen::Vector3d(x, span->from.x(), span->from.y()));
    const double b = flitch.frame.left.dot(Eigen::Vector3d(x, span->to.x(), span->to.y()));
    const Eigen::Vector2d middle = 0.5 * (span->from + span->to);
    const double along = flitch.frame.along.dot(Eigen::Vector3d(x, middle.x(), middle.y()));
    return FaceEdge{along, std::min(a, b), std::max(a, b), x, middle};
  };
  std::vector<FaceEdge> edges;
  for (const double x : face_stations(shape, parting, edge_at)) {
    if (const auto edge = edge_at(x)) edges.push_back(*edge);
  }
  return edges;
}

std::vector<Eigen::Vector3d> corners(const Board& board) {
  std::vector<Eigen::Vector3d> points;
  for (int i = 0; i < 8; ++i) {
    points.push_back(board.corner + ((i & 1) != 0 ? board.length : 0.0) * board.along +
                     ((i & 2) != 0 ? board.width : 0.0) * board.across +
                     ((i & 4) != 0 ? board.thickness : 0.0) * board.up);
  }
  return points;
}

}  // namespace kerfwright::sheet
