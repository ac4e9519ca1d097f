#include "worth.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <map>
#include <optional>

#include "kerfwright/saw/live_edge.hpp"

namespace kerfwright::saw {
namespace {

constexpr double knot_step = 8.0;      // mm of a knot that one capsule stands for
constexpr double split_step = 6.0;     // mm along the log between the rods of a split
constexpr double section_step = 10.0;  // mm between the sections of a piece that are looked at
constexpr double far = 2.0;       // a slab's edges may come nearer beside where they are looked at
constexpr int across_points = 5;  // of a section at which figure and rings are looked at

/// The point in the board's own axes: along, across, up.
Eigen::Vector3d in_board(const Board& board, const Eigen::Vector3d& point) {
  const Eigen::Vector3d arm = point - board.corner;
  return {arm.dot(board.along), arm.dot(board.across), arm.dot(board.up)};
}

/// How far a board reaches across, in its own axes: its box, or of a slab what the log has.
class Sides {
 public:
  Sides(const Board& board, const Product& product, const LogShape& shape) : board_(board) {
    if (!product.live_edge) return;
    const int steps = std::max(1, static_cast<int>(std::ceil(board.length / section_step)));
    for (int i = 0; i <= steps; ++i) {
      sections_.push_back(live_section(board, shape, board.length * i / steps));
    }
  }

  /// Of either face, `a` mm from the near end.
  std::pair<double, double> outer(double a) const {
    const auto section = at(a);
    return section ? std::pair(section->outer_left(), section->outer_right()) : box();
  }
  /// Of both faces.
  std::pair<double, double> inner(double a) const {
    const auto section = at(a);
    return section ? std::pair(section->left(), section->right()) : box();
  }

 private:
  std::pair<double, double> box() const { return {0.0, board_.width}; }
  std::optional<LiveSection> at(double a) const {
    if (sections_.empty()) return std::nullopt;
    const double share = std::clamp(a / board_.length, 0.0, 1.0);
    return sections_[static_cast<std::size_t>(
        std::lround(share * static_cast<double>(sections_.size() - 1)))];
  }

  const Board& board_;
  std::vector<std::optional<LiveSection>> sections_;
};

/// A capsule in the axes of a board.
struct Rod {
  Eigen::Vector3d a, b;
  double radius;
};

double distance_to(const Board& board, const Sides& sides, const Eigen::Vector3d& p) {
  const auto [left, right] = sides.outer(p.x());
  const Eigen::Vector3d low(0.0, left, 0.0);
  const Eigen::Vector3d high(board.length, right, board.thickness);
  return (p - p.cwiseMax(low).cwiseMin(high)).norm();
}

bool touches(const Board& board, const Sides& sides, const Rod& rod) {
  const double length = (rod.b - rod.a).norm();
  if (distance_to(board, sides, 0.5 * (rod.a + rod.b)) > far * (rod.radius + 0.5 * length)) {
    return false;
  }
  const int steps = static_cast<int>(std::ceil(0.5 * length)) + 1;
  for (int i = 0; i <= steps; ++i) {
    const Eigen::Vector3d p = rod.a + (rod.b - rod.a) * i / steps;
    if (distance_to(board, sides, p) <= rod.radius) return true;
  }
  return false;
}

/// How far the knots of a section reach across the board: [section][mark].
using KnotSections = std::map<std::pair<int, int>, std::pair<double, double>>;

void note_knot(const Board& board, const Rod& rod, int mark, KnotSections& sections) {
  const double low = std::min(rod.a.x(), rod.b.x()) - rod.radius;
  const double high = std::max(rod.a.x(), rod.b.x()) + rod.radius;
  const int from = static_cast<int>(std::ceil(std::max(0.0, low) / section_step));
  const int to = static_cast<int>(std::floor(std::min(board.length, high) / section_step));
  for (int i = from; i <= to; ++i) {
    auto& [left, right] =
        sections.emplace(std::make_pair(i, mark), std::make_pair(1e9, -1e9)).first->second;
    left = std::min(left, std::min(rod.a.y(), rod.b.y()) - rod.radius);
    right = std::max(right, std::max(rod.a.y(), rod.b.y()) + rod.radius);
  }
}

/// Greatest share of the width that knots take in any section.
double widest_knots(const Sides& sides, const KnotSections& sections) {
  std::map<int, double> sums;
  double most = 0.0;
  for (const auto& [key, reach] : sections) {
    const auto [from, to] = sides.inner(key.first * section_step);
    const double left = std::max(from, reach.first);
    const double right = std::min(to, reach.second);
    const double share = std::max(0.0, right - left) / std::max(1e-9, to - from);
    most = std::max(most, sums[key.first] += share);
  }
  return most;
}

/// Mean of figure times grain over the middle plane of a board.
double mean_of_place(const Board& board, const Product& product, const Sides& sides,
                     const WoodMarks& marks) {
  if (!product.grain && (product.figure.empty() || marks.figure().empty())) return 1.0;
  const int sections = std::max(1, static_cast<int>(std::lround(board.length / section_step)));
  double sum = 0.0;
  for (int i = 0; i < sections; ++i) {
    const double a = board.length * (i + 0.5) / sections;
    const auto [left, right] = sides.inner(a);
    for (int k = 0; k < across_points; ++k) {
      const double b = left + (right - left) * (k + 0.5) / across_points;
      const Eigen::Vector3d point =
          board.corner + board.along * a + board.across * b + board.up * (0.5 * board.thickness);
      const double grain =
          product.grain ? grain_factor(*product.grain, ring_angle(marks.pith(), point, board.up))
                        : 1.0;
      sum += grain * marks.figure_factor(product, point);
    }
  }
  return sum / (sections * across_points);
}

}  // namespace

WoodMarks::WoodMarks(const LogShape& shape)
    : metal_(shape.marks.metal), pith_(shape), shape_(std::make_shared<const LogShape>(shape)) {
  const Marks& marks = shape.marks;
  add_chain(MarkKind::pith, shape, {pith_radius, pith_radius});
  for (const Core& core : marks.rot) add_chain(MarkKind::hole, shape, core);
  for (const Core& core : marks.hollow) add_chain(MarkKind::hole, shape, core);
  for (const Knot& knot : marks.knots) {
    add_knot(knot.sound ? MarkKind::knot : MarkKind::hole, knot);
  }
  for (const Split& split : marks.splits) add_split(shape, split);
  for (const Metal& metal : marks.metal) {
    capsules_.push_back({MarkKind::metal, marks_++, metal.place, metal.place, metal.reach});
  }
  for (const Capsule& capsule : capsules_) {
    if (capsule.kind == MarkKind::hole || capsule.kind == MarkKind::metal) any_holes_ = true;
  }
}

const std::vector<FigureZone>& WoodMarks::figure() const { return shape_->marks.figure; }

double WoodMarks::figure_factor(const Product& product, const Eigen::Vector3d& point) const {
  bool inside = false;
  double most = 0.0;
  for (const FigureZone& zone : figure()) {
    for (const auto& [name, factor] : product.figure) {
      if (name != zone.name || !is_in_figure(*shape_, zone, point)) continue;
      inside = true;
      most = std::max(most, factor);
    }
  }
  return inside ? most : 1.0;
}

void WoodMarks::add_chain(MarkKind kind, const LogShape& shape, const Core& core) {
  const double length = shape.length();
  for (std::size_t i = 0; i + 1 < shape.stations.size(); ++i) {
    const double from = shape.stations[i];
    const double to = shape.stations[i + 1];
    const double radius = std::max(core_radius(core, length, from), core_radius(core, length, to));
    if (radius > 0.0)
      capsules_.push_back({kind, marks_, pith_.point(from), pith_.point(to), radius});
  }
  ++marks_;
}

void WoodMarks::add_knot(MarkKind kind, const Knot& knot) {
  const Eigen::Vector3d axis = knot.at_bark - knot.at_pith;
  const int steps = std::max(1, static_cast<int>(std::ceil(axis.norm() / knot_step)));
  for (int i = 0; i < steps; ++i) {
    const double far_end = static_cast<double>(i + 1) / steps;
    capsules_.push_back({kind, marks_, knot.at_pith + axis * i / steps,
                         knot.at_pith + axis * far_end, 0.5 * knot.diameter * far_end});
  }
  ++marks_;
}

void WoodMarks::add_split(const LogShape& shape, const Split& split) {
  double reach = 0.0;
  for (const auto& section : shape.radius) {
    for (const float radius : section) reach = std::max(reach, static_cast<double>(radius));
  }
  const double depth = std::min(split.depth, shape.length());
  const int steps = static_cast<int>(std::ceil(depth / split_step));
  for (int i = 0; i <= steps; ++i) {
    const double from_end = depth * i / std::max(1, steps);
    const double x = split.from_butt ? from_end : shape.length() - from_end;
    const Eigen::Vector2d middle = pith_.at(x);
    const Eigen::Vector2d out = middle + 2.0 * reach * split.direction;
    const Eigen::Vector2d in = split.through ? middle - 2.0 * reach * split.direction : middle;
    capsules_.push_back({MarkKind::hole, marks_, Eigen::Vector3d(x, in.x(), in.y()),
                         Eigen::Vector3d(x, out.x(), out.y()), split_clearance});
  }
  ++marks_;
}

GradeFactors grade_factors(const Product& product) {
  if (!product.grades) return {};
  const Grades& grades = *product.grades;
  return {grades.clear.value_or(0.0), grades.sound_knots.value_or(0.0), grades.pith.value_or(0.0),
          grades.largest_knot};
}

double grain_factor(const Grain& grain, double angle) {
  if (angle >= grain.standing_from) return grain.standing;
  return angle >= grain.rift_from ? grain.rift : grain.lying;
}

double most_place_factor(const Product& product) {
  double most = 1.0;
  for (const auto& [name, factor] : product.figure) most = std::max(most, factor);
  if (!product.grain) return most;
  return most * std::max({product.grain->standing, product.grain->rift, product.grain->lying});
}

double most_factor(const Product& product) {
  const GradeFactors grades = grade_factors(product);
  return std::max({grades.clear, grades.knots, grades.pith}) * most_place_factor(product);
}

PieceWorth worth_of(const Board& board, const Product& product, const WoodMarks& marks) {
  PieceWorth worth;
  const GradeFactors factors = grade_factors(product);
  bool knots = false;
  bool pith = false;
  KnotSections sections;
  const Sides sides(board, product, marks.shape());
  for (const Capsule& capsule : marks.capsules()) {
    const bool by_grade = capsule.kind == MarkKind::knot || capsule.kind == MarkKind::pith;
    if (by_grade && !product.grades) continue;
    const Rod rod{in_board(board, capsule.a), in_board(board, capsule.b), capsule.radius};
    if (!touches(board, sides, rod)) continue;
    if (!by_grade) return {false, "", 0.0};
    if (capsule.kind == MarkKind::pith) {
      pith = true;
    } else {
      knots = true;
      note_knot(board, rod, capsule.mark, sections);
    }
  }
  if (product.grades) {
    const bool pith_is_worse = pith && (!knots || factors.pith <= factors.knots);
    worth.grade = pith_is_worse ? "pith" : knots ? "sound_knots" : "clear";
    worth.factor = pith_is_worse ? factors.pith : knots ? factors.knots : factors.clear;
  }
  if (knots && widest_knots(sides, sections) > factors.largest_knot + 1e-9) worth.factor = 0.0;
  worth.sold = worth.factor > 0.0;
  if (worth.sold) worth.factor *= mean_of_place(board, product, sides, marks);
  return worth;
}

std::vector<BoardWorth> board_worths(const SawPlan& plan, const WoodMarks& marks) {
  std::vector<BoardWorth> worths(plan.boards.size());
  for (const Product& product : plan.order.products) {
    std::vector<std::size_t> pieces;
    for (std::size_t i = 0; i < plan.boards.size(); ++i) {
      const Board& board = plan.boards[i];
      if (board.product != product.name) continue;
      const auto length =
          std::find_if(product.lengths.begin(), product.lengths.end(),
                       [&](double wished) { return std::abs(wished - board.length) < 1e-6; });
      if (length == product.lengths.end()) continue;
      worths[i].piece = worth_of(board, product, marks);
      const auto at = static_cast<std::size_t>(length - product.lengths.begin());
      const double full = clear_value(product, at, board.width);
      worths[i].value = worths[i].piece.factor * full;
      pieces.push_back(i);
    }
    if (!product.wanted || pieces.size() <= static_cast<std::size_t>(*product.wanted)) continue;
    std::stable_sort(pieces.begin(), pieces.end(), [&](std::size_t a, std::size_t b) {
      if (worths[a].value != worths[b].value) return worths[a].value > worths[b].value;
      return plan.boards[a].id < plan.boards[b].id;
    });
    for (std::size_t i = static_cast<std::size_t>(*product.wanted); i < pieces.size(); ++i) {
      worths[pieces[i]].value *= product.beyond;
    }
  }
  return worths;
}

void grade_boards(SawPlan& plan, const WoodMarks& marks) {
  std::vector<Board> sold;
  double before = 0.0;
  double value = 0.0;
  double gone_m3 = 0.0;
  const std::vector<BoardWorth> worths = board_worths(plan, marks);
  for (std::size_t i = 0; i < worths.size(); ++i) {
    Board& board = plan.boards[i];
    before += board.value;
    board.grade = worths[i].piece.grade;
    board.value = worths[i].value;
    if (worths[i].piece.sold) {
      value += board.value;
      sold.push_back(std::move(board));
    } else {
      gone_m3 += board.thickness * board.width * board.length * 1e-9;
    }
  }
  plan.boards = std::move(sold);
  Totals& totals = plan.totals;
  totals.net += value - before;
  totals.value = value;
  if (totals.board_m3 > 0.0) totals.yield *= 1.0 - gone_m3 / totals.board_m3;
  totals.board_m3 -= gone_m3;
}

}  // namespace kerfwright::saw
