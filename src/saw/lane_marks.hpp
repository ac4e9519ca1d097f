#pragma once

#include <memory>
#include <optional>
#include <vector>

#include "lanes.hpp"
#include "worth.hpp"

namespace kerfwright::saw {

/// What is in a flitch, in the frame of its lanes: lateral units, cells along the log.
struct FlitchMarks {
  /// The reach of one mark in one cell, over the thickness of the flitch.
  struct Touch {
    int cell = 0;
    int left = 0, right = 0;  ///< units
    MarkKind kind = MarkKind::hole;
  };
  /// Lateral units that marks take, in any cell.
  struct Stretch {
    int left = 0, right = 0;
  };
  std::vector<Touch> touches;
  std::vector<Touch> metal;      ///< where no rip cut may run, cell does not count
  std::vector<Stretch> harmful;  ///< holes and metal, a kerf of room about that; apart, in order
  std::vector<Stretch> any;      ///< all marks; apart, in order
  std::shared_ptr<const WoodMarks> wood;
  Pose pose;
  bool at_most = false;  ///< figure and rings are taken at their best, for a bound
  double middle = 0;     ///< mm, height of the middle of its thickness
  double lean = 0;
  std::vector<double> pith_lateral, pith_height;  ///< mm, [cell], in the frame of the pose
};

/// What pieces of a lane are worth by where they lie.
struct LaneWorth {
  Product product;
  GradeFactors grades;
  double most = 1;            ///< factor that the prices are for
  std::vector<double> price;  ///< [length] at that factor, cost of cutting it off taken away
  std::vector<double> value;  ///< [length] that the factor is a share of
};

/// The marks of a flitch between two heights of a pose (mm), its lanes following `lean`.
/// @param kerf mm, so that no cross-cut comes near metal
/// @param at_most for a bound of all flitches that hold these heights
/// @param slack units by which marks are taken narrower each side, for a bound
std::shared_ptr<const FlitchMarks> flitch_marks(const Wood& wood, const Pose& pose, double bottom,
                                                double thickness, double lean, double kerf,
                                                bool at_most = false, int slack = 0);

/// Whether a lane there is anything but clear, undamaged wood to its product.
bool is_touched(const FlitchMarks& marks, const Lane& lane, int left);

/// Whether a kerf beside the lane would come near metal, anywhere along the flitch.
bool metal_beside(const FlitchMarks& marks, const Lane& lane, int left, double kerf);

/// Takes out the cells in which no piece of the lane can be, whatever its grade.
void leave_harmed(const FlitchMarks& marks, const Lane& lane, int left, CellBits& cells);

/// A piece in a lane.
struct LanePiece {
  int length = 0;    ///< index in the product's lengths
  double start = 0;  ///< mm along the log
};

/// The best pieces in one lane, each paid for the wood that is in it.
///
/// A piece starts at the start of a run of clear wood, where the wood becomes better or worse, or
/// behind the kerf of the piece before it; it fetches the factor of the worst cell that it lies in,
/// times the mean of what figure and rings are worth in its cells. Where only grades count, no
/// other start can be better: a piece may be moved towards the butt until one of these stops it.
/// Where only a part of a piece's length may have wane, a piece may start at every whole mm of the
/// run; a cell with any wane counts as a whole.
class LaneMarks {
 public:
  LaneMarks(const Lane& lane, const FlitchWood& wood, const std::vector<double>& border,
            double kerf, double end_loss)
      : lane_(lane), wood_(wood), border_(border), kerf_(kerf), loss_(end_loss) {}

  /// What the lane from `left` to `left` + width is worth; with `pieces`, also which they are.
  /// @param rows the clear wood that the lane needs
  double best(const Interval& rows, int left, std::vector<LanePiece>* pieces = nullptr);

 private:
  void find_factors(const Interval& rows, int left);
  void find_places(int left);
  double run(int first, int end, std::vector<LanePiece>* pieces);
  using Sums = std::array<double, max_cells + 1>;
  void find_wane(int left);
  bool too_waney(double from, double length) const;
  double between(const Sums& sums, double from, double to) const;
  void find_least();
  float worst(int first, int last) const;
  double mean_place(double from, double to) const;

  const Lane& lane_;
  const FlitchWood& wood_;
  const std::vector<double>& border_;
  double kerf_, loss_;
  std::array<float, max_cells> factor_{};  ///< of a piece in this cell; 0 = none can be
  std::array<std::array<float, max_cells>, 7> least_{};  ///< [p][cell] of 2^(p + 1) cells from it
  Sums wane_{}, last_wane_{};                            ///< mm with wane up to each border
  Sums place_{};                                ///< mm times figure and grain up to each border
  double most_place_ = 1;                       ///< where they are taken at their best
  bool by_place_ = false;                       ///< whether figure or rings count
  std::array<float, max_cells> last_factor_{};  ///< of the lane before, and what it was worth
  std::optional<double> last_worth_;
  struct Step {
    int length = -1;
    std::size_t piece_at = 0, before = 0;
  };
  std::vector<double> worth_;    ///< [mm of the run] -1: no piece can start here
  std::vector<char> may_start_;  ///< [mm of the run]
  std::vector<Step> steps_;      ///< [mm of the run] how it was reached
  std::vector<int> last_cells_;  ///< [length] of a piece that starts at the place looked at
};

}  // namespace kerfwright::saw
