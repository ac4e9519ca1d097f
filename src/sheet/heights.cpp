#include <Eigen/Geometry>
#include <algorithm>
#include <array>
#include <cmath>
#include <optional>

#include "board_fits.hpp"
#include "lengths.hpp"
#include "stages.hpp"

namespace kerfwright::sheet {
namespace {

constexpr double thinner = 0.05;  // mm by which a layer may get thinner, which is no wood

constexpr double hopeless = 2.0;  // mm out of the wood that no other edging mends

double step_above(double mm, double step) { return std::ceil((mm - thinner) / step) * step; }

double step_below(double mm, double step) { return std::floor((mm + thinner) / step) * step; }

/// A group's cuts as heights over the bed.
struct Stack {
  std::vector<double> planned;  ///< of the lower sides, mm over the bed
  std::vector<bool> holds;      ///< whether the layer above a cut, up to the one before, has boards
  bool rest_holds = false;      ///< and what stays below the last
  bool from_above = true;       ///< every cut saws what the one before left below
  bool on_face = false;
  bool begun = false;                 ///< the first of its cuts are made
  std::optional<std::size_t> newest;  ///< the last cut made, where its height is known
  double face_height = 0;             ///< of that cut, mm over what the piece lies on
  double kerf = 0, step = 1;
};

bool has_board(const SawPlan& plan, const PieceTree& tree, const std::string& piece) {
  return std::any_of(plan.boards.begin(), plan.boards.end(),
                     [&](const Board& board) { return tree.comes_of(board.piece, piece); });
}

const std::string& upper_part(const Cut& cut, const Eigen::Vector3d& up) {
  return cut.normal.dot(up) > 0.0 ? cut.above : cut.below;
}

const std::string& lower_part(const Cut& cut, const Eigen::Vector3d& up) {
  return cut.normal.dot(up) > 0.0 ? cut.below : cut.above;
}

Stack stack_of(const SawPlan& plan, const PieceTree& tree, const Group& group, const Bed& bed,
               const Eigen::Vector3d& up) {
  Stack stack;
  stack.step = plan.mill.height_step;
  stack.on_face = bed.face != nullptr;
  stack.begun = plan.cuts[group.cuts.front()].n <= plan.done;
  const Cut* before = nullptr;
  for (const std::size_t i : group.cuts) {
    const Cut& cut = plan.cuts[i];
    stack.kerf = cut.kerf;
    stack.planned.push_back(up.dot(cut.point) - cut.kerf / 2 - bed.height);
    stack.holds.push_back(has_board(plan, tree, upper_part(cut, up)));
    if (before != nullptr && cut.piece != lower_part(*before, up)) stack.from_above = false;
    before = &cut;
    if (cut.n == plan.done && plan.face_height) {
      stack.newest = stack.planned.size() - 1;
      stack.face_height = *plan.face_height;
    }
  }
  stack.rest_holds = has_board(plan, tree, lower_part(*before, up));
  return stack;
}

/// On a sawn face heights are thicknesses: from the lowest cut upwards.
std::vector<double> heights_from_below(const Stack& stack) {
  const std::size_t count = stack.planned.size();
  std::vector<double> heights(count);
  for (std::size_t i = count; i-- > 0;) {
    const double near = snapped(stack.planned[i], stack.step);
    if (i + 1 == count) {
      heights[i] = stack.rest_holds ? step_above(stack.planned[i], stack.step) : near;
    } else if (stack.holds[i + 1]) {
      const double spacing = stack.planned[i] - stack.planned[i + 1];
      heights[i] = step_above(heights[i + 1] + spacing, stack.step);
    } else {
      heights[i] = std::max(near, heights[i + 1] + stack.step);
    }
  }
  return heights;
}

/// Of a cut that saws what the one before left, from above downwards: a board between both keeps
/// its thickness.
double height_below(double before, const Stack& stack, std::size_t i, double near) {
  if (!stack.holds[i]) return std::min(near, before - stack.step);
  return step_below(before - (stack.planned[i - 1] - stack.planned[i]), stack.step);
}

/// What is left of a setup counts from its newest face, which lies where the sheet before had it
/// set.
std::vector<double> heights_from_face(const Stack& stack) {
  const std::size_t newest = *stack.newest;
  const double off = stack.face_height - stack.planned[newest];
  std::vector<double> heights;
  for (std::size_t i = 0; i < stack.planned.size(); ++i) {
    const double near = snapped(stack.planned[i] + off, stack.step);
    if (i == newest) {
      heights.push_back(stack.face_height);
    } else if (i < newest || !stack.from_above) {
      heights.push_back(near);
    } else {
      heights.push_back(height_below(heights.back(), stack, i, near));
    }
  }
  return heights;
}

/// On bark the whole stack may shift by some steps: from the first cut downwards.
std::vector<double> heights_from_above(const Stack& stack, int shift) {
  std::vector<double> heights;
  for (std::size_t i = 0; i < stack.planned.size(); ++i) {
    const double near = snapped(stack.planned[i], stack.step);
    if (i == 0 || !stack.from_above) {
      heights.push_back(near + shift * stack.step);
    } else {
      heights.push_back(height_below(heights.back(), stack, i, near));
    }
  }
  return heights;
}

/// How far each cut of a group moves, mm along up, and what rests below the last.
struct Move {
  std::vector<double> cuts;
  double rest = 0;
};

/// How far a piece that comes of the group's moves: as the cut on which it lies.
double shift_of(const std::string& piece, const SawPlan& plan, const PieceTree& tree,
                const Group& group, const Eigen::Vector3d& up, const Move& move) {
  double shift = move.rest;
  for (const Side& side : tree.ancestry(piece)) {
    for (std::size_t i = 0; i < group.cuts.size(); ++i) {
      if (plan.cuts[group.cuts[i]].n != side.cut->n || move.cuts.empty()) continue;
      if (side.above == (side.cut->normal.dot(up) > 0.0)) shift = move.cuts[i];
    }
  }
  return shift;
}

/// What boards are worth where they lie now. One that stands out of the wood a little may still be
/// edged where it fits, so that it counts in part.
double worth_of(const SawPlan& plan, const LogShape& shape, const std::vector<Board>& boards) {
  double worth = 0.0;
  for (const Board& board : boards) {
    const double out = shortfall(board, plan.order, shape);
    const double share = out > 0.0 ? 1.0 : share_there(board, plan.order, shape);
    worth += board.value * share * std::max(0.0, 1.0 - out / hopeless);
  }
  return worth;
}

/// The boards that come of a group's piece, after a move.
std::vector<Board> moved_boards(const Told& told, const Group& group, const Eigen::Vector3d& up,
                                const Move& move) {
  std::vector<Board> boards;
  for (Board board : told.sawn.boards) {
    if (!told.tree.comes_of(board.piece, group.piece)) continue;
    board.corner += shift_of(board.piece, told.sawn, told.tree, group, up, move) * up;
    boards.push_back(board);
  }
  return boards;
}

void apply(Told& told, const Group& group, const Eigen::Vector3d& up, const Move& move) {
  std::vector<double> shifts;
  for (const Cut& cut : told.sawn.cuts) {
    const bool inside = told.tree.comes_of(cut.piece, group.piece);
    shifts.push_back(inside ? shift_of(cut.piece, told.sawn, told.tree, group, up, move) : 0.0);
  }
  for (std::size_t i = 0; i < group.cuts.size(); ++i) shifts[group.cuts[i]] = move.cuts[i];
  for (Board& board : told.sawn.boards) {
    if (!told.tree.comes_of(board.piece, group.piece)) continue;
    board.corner += shift_of(board.piece, told.sawn, told.tree, group, up, move) * up;
  }
  for (std::size_t i = 0; i < shifts.size(); ++i) told.sawn.cuts[i].point += shifts[i] * up;
}

/// How the piece really lies once it is turned and blocked up by rounded numbers.
struct Lie {
  Eigen::Vector3d up;
  Eigen::Matrix3d turn = Eigen::Matrix3d::Identity();  ///< from how it was planned
  Eigen::Vector3d pivot;
  double bed = 0;  ///< height of the bed in the direction up
};

Eigen::Vector3d lowest_point(const LogShape& shape, double x, const Eigen::Vector3d& up,
                             const std::vector<Side>& ancestry) {
  Eigen::Vector3d lowest(x, axis_at(shape, x).x(), axis_at(shape, x).y());
  for (const auto& p : piece_section(shape, x, Bark::on, lengthwise(ancestry))) {
    const Eigen::Vector3d point(x, p.x(), p.y());
    if (up.dot(point) < up.dot(lowest)) lowest = point;
  }
  return lowest;
}

/// On bark: the turn to a tenth of a degree, and both ends blocked up to whole steps of the tape.
Lie lie_on_bark(const LogShape& shape, const Group& group, const Bed& bed,
                const std::vector<Side>& ancestry, double tape) {
  const Support& first = bed.supports.front();
  const Support& last = bed.supports.back();
  const double wanted = snapped(last.raise, tape) - snapped(first.raise, tape);
  Setup setup = *group.setup;
  setup.roll = std::round(setup.roll * 10.0) / 10.0;
  const double lift = setup.lift_top - setup.lift_butt;
  setup.lift_butt = 0.0;
  const auto up_at = [&](double lift_top) {
    setup.lift_top = lift_top;
    return setup_up(setup, shape.length());
  };
  const auto low = [&](const Support& support, const Eigen::Vector3d& up) {
    return lowest_point(shape, bed.reach.from + support.place, up, ancestry);
  };
  double below = lift - 0.02 * shape.length();
  double above = lift + 0.02 * shape.length();
  for (int i = 0; i < 40; ++i) {
    const double middle = (below + above) / 2;
    const Eigen::Vector3d up = up_at(middle);
    const double raised = up.dot(low(last, up)) - up.dot(low(first, up));
    (raised < wanted ? below : above) = middle;
  }
  Lie lie;
  lie.up = up_at((below + above) / 2);
  lie.pivot = low(first, lie.up);
  lie.bed = lie.up.dot(lie.pivot) - snapped(first.raise, tape);
  return lie;
}

Lie told_lie(const LogShape& shape, const Group& group, const Told& told, const Bed& planned) {
  const Eigen::Vector3d planned_up = setup_up(*group.setup, shape.length());
  const auto ancestry = told.tree.ancestry(group.piece);
  const auto face_side = std::find_if(ancestry.begin(), ancestry.end(), [&](const Side& side) {
    return planned.face != nullptr && side.cut->n == planned.face->n;
  });
  Lie lie;
  if (face_side == ancestry.end()) {
    lie = lie_on_bark(shape, group, bed_of(shape, told.sawn.mill, planned_up, ancestry), ancestry,
                      told.sawn.mill.tape_step());
  } else {
    const Cut& face = *face_side->cut;
    const double sign = face.normal.dot(planned_up) > 0.0 ? 1.0 : -1.0;
    lie.up = sign * face.normal;
    lie.pivot = face.point + face.kerf / 2 * lie.up;
    lie.bed = lie.up.dot(lie.pivot);
  }
  lie.turn = Eigen::Quaterniond::FromTwoVectors(planned_up, lie.up).toRotationMatrix();
  return lie;
}

/// Turns what comes of the group's piece, and the cuts that saw it, to how the piece really lies.
void turn_piece(Told& told, const Group& group, const Lie& lie) {
  for (Cut& cut : told.sawn.cuts) {
    if (!told.tree.comes_of(cut.piece, group.piece)) continue;
    cut.point = lie.turn * (cut.point - lie.pivot) + lie.pivot;
    cut.normal = lie.turn * cut.normal;
  }
  for (Board& board : told.sawn.boards) {
    if (!told.tree.comes_of(board.piece, group.piece)) continue;
    board.corner = lie.turn * (board.corner - lie.pivot) + lie.pivot;
    board.along = lie.turn * board.along;
    board.across = lie.turn * board.across;
    board.up = lie.turn * board.up;
  }
  // The cuts lie exactly as the bed, whatever was rounded before.
  for (const std::size_t i : group.cuts) {
    Cut& cut = told.sawn.cuts[i];
    cut.normal = cut.normal.dot(lie.up) > 0.0 ? lie.up : Eigen::Vector3d(-lie.up);
  }
}

}  // namespace

std::vector<double> told_heights(const SawPlan& plan, const LogShape& shape, const Group& group,
                                 Told& told) {
  const Eigen::Vector3d planned_up = setup_up(*group.setup, shape.length());
  const Bed planned = bed_of(shape, plan.mill, planned_up, PieceTree(plan).ancestry(group.piece));
  Lie lie = told_lie(shape, group, told, planned);
  turn_piece(told, group, lie);
  const Stack stack = stack_of(plan, told.tree, group, planned, planned_up);
  const auto move_to = [&](const std::vector<double>& heights) {
    Move move;
    for (std::size_t i = 0; i < heights.size(); ++i) {
      const Cut& cut = told.sawn.cuts[group.cuts[i]];
      move.cuts.push_back(lie.bed + heights[i] + cut.kerf / 2 - lie.up.dot(cut.point));
    }
    move.rest = stack.on_face ? 0.0 : move.cuts.back();
    return move;
  };
  std::vector<double> best;
  if (stack.newest) {
    const Cut& face = told.sawn.cuts[group.cuts[*stack.newest]];
    if (!stack.on_face) lie.bed = lie.up.dot(face.point) - face.kerf / 2 - stack.face_height;
    best = heights_from_face(stack);
  } else if (stack.begun) {  // what is sawn lies where it lies
    best = heights_from_above(stack, 0);
  } else if (stack.on_face && stack.from_above) {
    best = heights_from_below(stack);
  } else {
    double whole = 0.0;
    for (const Board& board : moved_boards(told, group, lie.up, {})) whole += board.value;
    double most = -1.0;
    for (const int shift : {0, 1, -1, 2, -2, 3, -3}) {
      const auto heights = heights_from_above(stack, shift);
      if (shift < 0 && heights.back() < plan.mill.lowest_cut) continue;
      const double worth =
          worth_of(plan, shape, moved_boards(told, group, lie.up, move_to(heights)));
      if (worth > most + 1e-9) {
        most = worth;
        best = heights;
      }
      if (most >= whole - 1e-9) break;
    }
  }
  apply(told, group, lie.up, move_to(best));
  return best;
}

}  // namespace kerfwright::sheet
