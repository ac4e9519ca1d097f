#include "kerfwright/saw/replay.hpp"

#include <Eigen/Geometry>
#include <algorithm>
#include <array>
#include <cmath>
#include <map>
#include <set>

#include "kerfwright/saw/live_edge.hpp"
#include "kerfwright/shape/mark_geometry.hpp"
#include "kerfwright/shape/section.hpp"
#include "kerfwright/trade/inches.hpp"
#include "surely_inside.hpp"
#include "worth.hpp"

namespace kerfwright {
namespace {

using Eigen::Vector3d;

constexpr double rounding = 1e-5;  // mm, of the sums that tell how far apart two faces are

/// How a piece came to be.
struct Origin {
  const Cut* cut = nullptr;  ///< none for the log
  bool above = false;
  std::string parent;
  bool sawn_up = false;  ///< a later cut divided it
};

using Pieces = std::map<std::string, Origin>;

std::array<Vector3d, 8> corners(const Board& board) {
  std::array<Vector3d, 8> found;
  for (std::size_t i = 0; i < 8; ++i) {
    found[i] = board.corner + ((i & 1) != 0U ? board.length : 0.0) * board.along +
               ((i & 2) != 0U ? board.width : 0.0) * board.across +
               ((i & 4) != 0U ? board.thickness : 0.0) * board.up;
  }
  return found;
}

/// Signed distance of a point from the near face of a cut, positive on the side of the piece.
double clearance(const Origin& origin, const Vector3d& point) {
  const double distance = (point - origin.cut->point).dot(origin.cut->normal);
  return (origin.above ? distance : -distance) - 0.5 * origin.cut->kerf;
}

std::string label(const Board& board) { return "Board " + std::to_string(board.id); }

/// Visits points, 10 mm apart at most, of the rim of a section that is smaller than the board by
/// `across` and `up` mm on both sides.
/// @param skip whether to leave out an edge of the rim, by its ends
template <typename Skip, typename Visit>
void visit_rim(const Board& board, double a, double across, double up, Skip skip, Visit visit) {
  constexpr double probe_step = 10.0;
  const auto steps = [](double size) {
    return std::max(1, static_cast<int>(std::ceil(size / probe_step)));
  };
  const auto at = [&](double b, double c) -> Vector3d {
    return board.corner + a * board.along + b * board.across + c * board.up;
  };
  const double right = board.width - across;
  const double top = board.thickness - up;
  for (const double c : {up, top}) {
    if (skip(at(across, c), at(right, c))) continue;
    for (int i = 0; i <= steps(board.width); ++i) {
      visit(at(across + (board.width - 2.0 * across) * i / steps(board.width), c));
    }
  }
  for (const double b : {across, right}) {
    if (skip(at(b, up), at(b, top))) continue;
    for (int i = 0; i <= steps(board.thickness); ++i) {
      visit(at(b, up + (board.thickness - 2.0 * up) * i / steps(board.thickness)));
    }
  }
}

/// Visits both rims that a section of a board must have in the wood.
template <typename Skip, typename Visit>
void visit_section(const Board& board, const Wane& wane, double a, Skip skip, Visit visit) {
  const double across = wane.width * board.width;
  const double up = wane.thickness * board.thickness;
  visit_rim(board, a, 0.0, up, skip, visit);
  if (across != 0.0 || up != 0.0) visit_rim(board, a, across, 0.0, skip, visit);
}

class Paper {
 public:
  Paper(const SawPlan& plan, const LogShape& shape, const ReplaySettings& settings)
      : plan_(plan), shape_(shape), surely_(shape), tolerance_(settings.tolerance + rounding) {}

  Replay saw() {
    if (!all_finite()) {
      say("The plan holds a number that is not finite.");
      return std::move(replay_);
    }
    if (plan_.boards.empty()) say("The plan has no board.");
    make_cuts();
    worths_ = saw::board_worths(plan_, saw::WoodMarks(shape_));
    std::set<std::string> used;
    std::map<std::string, int> counts;
    std::set<int> ids;
    for (const Board& board : plan_.boards) {
      std::string wrong = fault_of(board);
      if (wrong.empty() && !used.insert(board.piece).second) {
        wrong = "its piece '" + board.piece + "' is another board already";
      }
      if (wrong.empty() && !ids.insert(board.id).second) wrong = "its number is used twice";
      if (wrong.empty()) wrong = over_wanted(board, counts);
      if (wrong.empty()) {
        replay_.value_found += board.value;
      } else {
        replay_.missing.push_back(board.id);
        say(label(board) + " is not there: " + wrong + ".");
      }
    }
    check_totals();
    return std::move(replay_);
  }

 private:
  bool all_finite() const {
    return std::all_of(plan_.boards.begin(), plan_.boards.end(),
                       [](const Board& b) {
                         return b.corner.allFinite() && b.along.allFinite() &&
                                b.across.allFinite() && b.up.allFinite() && std::isfinite(b.value);
                       }) &&
           std::all_of(plan_.cuts.begin(), plan_.cuts.end(), [](const Cut& c) {
             return c.point.allFinite() && c.normal.allFinite() && std::isfinite(c.kerf);
           });
  }

  void check_totals() {
    double value = 0.0;
    for (const Board& board : plan_.boards) value += board.value;
    if (!(std::abs(value - plan_.totals.value) <= 1e-6 * std::max(1.0, value))) {
      say("The plan's total value is not the sum of its boards.");
    }
  }

  void say(const std::string& sentence) {
    replay_.complete = false;
    replay_.sentences.push_back(sentence);
  }

  void make_cuts() {
    pieces_["log"] = {};
    for (const Cut& cut : plan_.cuts) {
      const std::string where = "Cut " + std::to_string(cut.n);
      const auto found = pieces_.find(cut.piece);
      if (found == pieces_.end() || found->second.sawn_up) {
        say(where + " saws '" + cut.piece + "', which is not there.");
        continue;
      }
      if (std::abs(cut.normal.norm() - 1.0) > 1e-6 || !(cut.kerf > 0.0)) {
        say(where + " has no unit normal or no kerf.");
        continue;
      }
      if (std::abs(cut.kerf - plan_.mill.kerf) > 1e-6) {
        say(where + " is not as wide as the kerf of the mill.");
      }
      if (!lies_in_setup(cut)) say(where + " is not parallel to the bed of its setup.");
      // What was found by a cut was sawn into before anyone knew.
      if (cut.n > plan_.done && near_metal(cut)) say(where + " comes too near to metal.");
      if (cut.above == cut.below || pieces_.contains(cut.above) || pieces_.contains(cut.below)) {
        say(where + " names a piece that is there already.");
        continue;
      }
      found->second.sawn_up = true;
      pieces_[cut.above] = {&cut, true, cut.piece, false};
      pieces_[cut.below] = {&cut, false, cut.piece, false};
    }
  }

  /// Whether the blade comes within reach of metal that is still in the piece.
  bool near_metal(const Cut& cut) const {
    const auto& metals = shape_.marks.metal;
    return std::any_of(metals.begin(), metals.end(), [&](const Metal& metal) {
      const double off = std::abs((metal.place - cut.point).dot(cut.normal));
      if (off >= metal.reach + 0.5 * cut.kerf) return false;
      for (const Origin* at = &pieces_.at(cut.piece); at->cut != nullptr;
           at = &pieces_.at(at->parent)) {
        if (clearance(*at, metal.place) < -metal.reach) return false;
      }
      return true;
    });
  }

  bool lies_in_setup(const Cut& cut) const {
    const auto setup = std::find_if(plan_.setups.begin(), plan_.setups.end(),
                                    [&](const Setup& s) { return s.n == cut.setup; });
    if (setup == plan_.setups.end()) return false;
    return setup_up(*setup, shape_.length()).cross(cut.normal).norm() < 1e-4;
  }

  /// Whether the pith runs inside the board from end to end.
  bool boxes_heart(const Board& board) const {
    const PithLine pith(shape_);
    const int steps = std::max(1, static_cast<int>(std::ceil(board.length / 10.0)));
    for (int i = 0; i <= steps; ++i) {
      const Vector3d at = board.corner + board.along * (board.length * i / steps);
      const Vector3d arm = pith.point(at.x()) - board.corner;
      const double up = arm.dot(board.up);
      if (up < 0.0 || up > board.thickness) return false;
      if (product_of(board, plan_.order)->live_edge) continue;  // it is not out at its sides
      const double across = arm.dot(board.across);
      if (across < 0.0 || across > board.width) return false;
    }
    return true;
  }

  /// Why a board is not there, or nothing.
  std::string fault_of(const Board& board) const {
    const std::string bad = fault_of_order(board);
    if (!bad.empty()) return bad;
    const auto piece = pieces_.find(board.piece);
    if (piece == pieces_.end()) return "no cut leaves a piece '" + board.piece + "'";
    if (piece->second.sawn_up) return "its piece '" + board.piece + "' is sawn up by a later cut";
    const bool slab = product_of(board, plan_.order)->live_edge;
    const std::string cut = fault_of_cuts(board, slab);
    if (!cut.empty()) return cut;
    if (product_of(board, plan_.order)->boxed_heart && !boxes_heart(board)) {
      return "the pith does not run inside it from end to end";
    }
    return slab ? fault_of_live_edges(board) : fault_of_wood(board);
  }

  std::string fault_of_order(const Board& board) const {
    const Product* product = product_of(board, plan_.order);
    if (product == nullptr) return "the order has no product '" + board.product + "'";
    const bool wide = product->live_edge ? board.width >= product->width - 1e-6
                                         : std::abs(product->width - board.width) <= 1e-6;
    if (std::abs(product->thickness - board.thickness) > 1e-6 || !wide) {
      return "it is not of the product's thickness and width";
    }
    const auto& lengths = product->lengths;
    const auto length = std::find_if(lengths.begin(), lengths.end(), [&](double wished) {
      return std::abs(wished - board.length) < 1e-6;
    });
    if (length == lengths.end()) return "the product has no such length";
    const auto at = static_cast<std::size_t>(&board - plan_.boards.data());
    const saw::PieceWorth& piece = worths_[at].piece;
    if (!piece.sold) return "it holds what is not sold: rot, a hole, metal or a grade left out";
    if (piece.grade != board.grade) return "its grade is not that of the marks";
    const double value = worths_[at].value;
    if (std::abs(value - board.value) > 1e-6 * std::max(1.0, value)) {
      return "its value is not that of the order";
    }
    const bool square = std::abs(board.along.dot(board.across)) < 1e-6 &&
                        (board.along.cross(board.across) - board.up).norm() < 1e-6 &&
                        std::abs(board.along.norm() - 1.0) < 1e-6 &&
                        std::abs(board.across.norm() - 1.0) < 1e-6;
    return square ? "" : "its three directions are not unit, square and right-handed";
  }

  std::string over_wanted(const Board& board, std::map<std::string, int>& counts) const {
    const Product* product = product_of(board, plan_.order);
    const int count = ++counts[board.product];
    if (!product->wanted || count <= *product->wanted || product->beyond > 0.0) return "";
    return "the order wants only " + std::to_string(*product->wanted) + " of '" + board.product +
           "'";
  }

  /// What no cut may take: the corners of the box, of a slab also its edges as the log has them.
  std::vector<Vector3d> outermost(const Board& board, bool slab) const {
    const auto box = corners(board);
    std::vector<Vector3d> points(box.begin(), box.end());
    const int steps = slab ? std::max(1, static_cast<int>(std::ceil(board.length / 10.0))) : -1;
    for (int i = 0; i <= steps; ++i) {
      const auto section = live_corners(board, shape_, board.length * i / steps);
      points.insert(points.end(), section.begin(), section.end());
    }
    return points;
  }

  std::string fault_of_cuts(const Board& board, bool slab) const {
    const auto box = corners(board);
    const auto points = outermost(board, slab);
    std::array<bool, 6> made{};  // faces: along 0 and 1, across 0 and 1, up 0 and 1
    for (const Origin* at = &pieces_.at(board.piece); at->cut != nullptr;
         at = &pieces_.at(at->parent)) {
      for (const Vector3d& point : points) {
        if (clearance(*at, point) < -tolerance_) {
          return "cut " + std::to_string(at->cut->n) + " goes through it";
        }
      }
      note_faces(*at, box, made);
    }
    for (std::size_t face = 0; face < 2; ++face) {
      if (!made[face]) made[face] = is_log_end(box, face);
    }
    constexpr std::array<const char*, 6> names = {"near end",   "far end",    "left edge",
                                                  "right edge", "lower face", "upper face"};
    if (slab) made[2] = made[3] = true;
    for (std::size_t face = 0; face < 6; ++face) {
      if (!made[face]) return std::string("no cut makes its ") + names[face];
    }
    return "";
  }

  /// Corners of face 2 k or 2 k + 1 have bit k clear or set.
  static bool on_face(std::size_t corner, std::size_t face) {
    return ((corner >> (face / 2)) & 1U) == (face % 2);
  }

  void note_faces(const Origin& origin, const std::array<Vector3d, 8>& box,
                  std::array<bool, 6>& made) const {
    for (std::size_t face = 0; face < 6; ++face) {
      bool touches = true;
      for (std::size_t corner = 0; corner < 8; ++corner) {
        if (on_face(corner, face) && std::abs(clearance(origin, box[corner])) > tolerance_) {
          touches = false;
        }
      }
      made[face] = made[face] || touches;
    }
  }

  bool is_log_end(const std::array<Vector3d, 8>& box, std::size_t face) const {
    for (const double end : {0.0, shape_.length()}) {
      bool touches = true;
      for (std::size_t corner = 0; corner < 8; ++corner) {
        if (on_face(corner, face) && std::abs(box[corner].x() - end) > tolerance_) touches = false;
      }
      if (touches) return true;
    }
    return false;
  }

  /// A slab must be wide enough at every place and, in the mean, where its box is.
  std::string fault_of_live_edges(const Board& board) const {
    const Product& product = *product_of(board, plan_.order);
    const double out = live_shortfall(board, product, shape_);
    if (out <= tolerance_) return "";
    const double least = live_edges(board, shape_).least_width;
    const auto told = [&](double mm) {
      if (plan_.mill.inches) return inch_text(mm);
      return std::to_string(static_cast<int>(std::floor(mm)));
    };
    if (least < product.width - tolerance_) {
      return "it is only " + told(least) + (plan_.mill.inches ? " in" : " mm") +
             " wide somewhere, and its product asks for " + told(product.width);
    }
    return "its edges are not where it is paid for in the mean";
  }

  std::string fault_of_wood(const Board& board) const {
    const Product& product = *product_of(board, plan_.order);
    double worst = 0.0;
    double worst_at = 0.0;
    int waney = 0;
    const int steps = std::max(1, static_cast<int>(std::ceil(board.length / 10.0)));
    for (int i = 0; i <= steps; ++i) {
      const double a = board.length * i / steps;
      const double depth = depth_if_outside(board, product.wane, a);
      if (depth < worst) {
        worst = depth;
        worst_at = a;
      }
      if (product.wane.length < 1.0 && depth_if_outside(board, {}, a) < -tolerance_) ++waney;
    }
    // Sections stand for the stretch about them, so that one more may be met.
    if (waney > product.wane.length * steps + 1.0 + 1e-9) {
      return "it has wane on more of its length than its product allows";
    }
    if (worst >= -tolerance_) return "";
    if (plan_.mill.inches) {
      constexpr double hair = 25.4 / 64;
      return "it stands " + inch_text(std::ceil(-worst / hair) * hair, 64) +
             " in out of the wood " + inch_text(worst_at) + " in from its near end";
    }
    const auto tenths = static_cast<int>(std::ceil(-10.0 * worst));
    return "it stands " + std::to_string(tenths / 10) + "." + std::to_string(tenths % 10) +
           " mm out of the wood " + std::to_string(static_cast<int>(worst_at)) +
           " mm from its near end";
  }

  /// The depth of a section where that is negative, else 0 or more.
  double depth_if_outside(const Board& board, const Wane& wane, double a) const {
    double least = 0.0;
    visit_section(
        board, wane, a,
        [&](const Vector3d& from, const Vector3d& to) { return surely_.inside(from, to); },
        [&](const Vector3d& point) {
          if (!surely_.inside(point, point)) {
            least = std::min(least, depth_inside(shape_, point, Bark::off));
          }
        });
    return least;
  }

  const SawPlan& plan_;
  const LogShape& shape_;
  saw::SurelyInside surely_;
  std::vector<saw::BoardWorth> worths_;  ///< [board] what it fetches by the marks
  double tolerance_;
  Pieces pieces_;
  Replay replay_;
};

}  // namespace

double section_depth(const Board& board, const Wane& wane, const LogShape& shape, double a) {
  double least = 1e9;
  visit_section(
      board, wane, a, [](const Vector3d&, const Vector3d&) { return false; },
      [&](const Vector3d& point) {
        least = std::min(least, depth_inside(shape, point, Bark::off));
      });
  return least;
}

Replay replay(const SawPlan& plan, const LogShape& shape, const ReplaySettings& settings) {
  return Paper(plan, shape, settings).saw();
}

}  // namespace kerfwright
