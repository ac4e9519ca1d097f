#pragma once

#include <Eigen/Core>
#include <memory>
#include <string>
#include <vector>

#include "kerfwright/saw/saw_plan.hpp"
#include "kerfwright/shape/log_shape.hpp"
#include "kerfwright/shape/mark_geometry.hpp"

/// What a piece is worth by the wood that is in it.
///
/// Marks are taken as rows of capsules (all points within a radius of a segment): a knot as pieces
/// of its cone, each as thick as its thicker end; rot, hollows and the pith from station to
/// station; metal as a ball; a split as a fan of thin rods. A piece touches a mark where its box
/// comes within the radius. The search looks at the same capsules by cells of the log, widened to
/// whole cells, so that it may miss a little but never counts on wood that is not there.
namespace kerfwright::saw {

/// What a clear piece of a product fetches in one of its lengths.
/// @param width mm, the mean, which only counts where the product keeps its natural edges
inline double clear_value(const Product& product, std::size_t length, double width) {
  return product.live_edge ? product.value_of(length, width) : product.value_of(length);
}

enum class MarkKind {
  hole,   ///< rot, hollow, split, unsound knot: never sold
  metal,  ///< never sold, and the saw keeps off
  knot,   ///< sound
  pith
};

struct Capsule {
  MarkKind kind = MarkKind::hole;
  int mark = 0;          ///< capsules of one mark share a number
  Eigen::Vector3d a, b;  ///< log frame
  double radius = 0;     ///< mm
};

inline constexpr double pith_radius = 3.0;      ///< mm (common practice, no source)
inline constexpr double split_clearance = 4.0;  ///< mm beside a split that are not sold
inline constexpr double metal_margin = 5.0;  ///< mm that the saw keeps off beyond a metal's reach

/// The marks of a log, ready to be asked often.
class WoodMarks {
 public:
  explicit WoodMarks(const LogShape& shape);

  const std::vector<Capsule>& capsules() const { return capsules_; }
  const PithLine& pith() const { return pith_; }
  /// Whether there is wood that is never sold, or metal.
  bool any_holes() const { return any_holes_; }
  const std::vector<Metal>& metal() const { return metal_; }
  const std::vector<FigureZone>& figure() const;
  const LogShape& shape() const { return *shape_; }
  /// The greatest of the product's factors for the figure zones that hold a point; 1 outside.
  double figure_factor(const Product& product, const Eigen::Vector3d& point) const;

 private:
  void add_chain(MarkKind kind, const LogShape& shape, const Core& core);
  void add_knot(MarkKind kind, const Knot& knot);
  void add_split(const LogShape& shape, const Split& split);

  std::vector<Capsule> capsules_;
  std::vector<Metal> metal_;
  PithLine pith_;
  std::shared_ptr<const LogShape> shape_;
  int marks_ = 0;
  bool any_holes_ = false;
};

/// What a piece fetches, as a share of its value, by grade.
struct GradeFactors {
  double clear = 1, knots = 1, pith = 1;  ///< 0 = not sold
  double largest_knot = 1;                ///< share of the width
};

GradeFactors grade_factors(const Product& product);

/// The factor of a ring angle, degrees.
double grain_factor(const Grain& grain, double angle);

/// The most that figure and rings together can be worth, as a share of the value.
double most_place_factor(const Product& product);

/// No piece of the product can fetch more than this share of its value.
double most_factor(const Product& product);

struct PieceWorth {
  bool sold = true;
  std::string grade;  ///< "clear", "sound_knots", "pith"; empty where the product has no grades
  double factor = 1;  ///< share of its value that the piece fetches
};

/// What a piece of the product is worth at the place of the board. The factor of its grade times
/// the mean, over its middle plane, of figure times grain. A slab with live edges is taken as wide
/// at each place as the log is there, marks in its bevels among it.
PieceWorth worth_of(const Board& board, const Product& product, const WoodMarks& marks);

/// What a board of a plan fetches.
struct BoardWorth {
  PieceWorth piece;
  double value = 0;  ///< order's currency
};

/// What each board of a plan fetches: its value by its wood; of more pieces of a product than are
/// wanted the dearest first, of equal ones the smaller number, and the others at the share that the
/// product gives for a piece beyond. A board of no product or length of the order fetches nothing.
std::vector<BoardWorth> board_worths(const SawPlan& plan, const WoodMarks& marks);

/// Writes grade and value into the boards of a plan and its totals; boards that cannot be sold are
/// taken out.
void grade_boards(SawPlan& plan, const WoodMarks& marks);

}  // namespace kerfwright::saw
