#pragma once

#include <map>
#include <string>
#include <vector>

#include "kerfwright/saw/saw_plan.hpp"
#include "kerfwright/shape/log_shape.hpp"
#include "kerfwright/shape/section.hpp"
#include "planar.hpp"

/// What the cuts make of a log.
namespace kerfwright::sheet {

/// The part that lies on one side of a cut.
struct Side {
  const Cut* cut = nullptr;
  bool above = false;
  const std::string& name() const { return above ? cut->above : cut->below; }
};

/// The pieces of a plan, and which cuts made each. Plans whose cuts contradict each other give some
/// tree, never an endless one.
class PieceTree {
 public:
  explicit PieceTree(const SawPlan& plan);

  /// The cuts between the log and a piece, in sawing order, with the side that the piece is on.
  std::vector<Side> ancestry(const std::string& piece) const;
  /// The cut that saws a piece; null where it is final.
  const Cut* sawn_by(const std::string& piece) const;
  /// Whether `piece` is `whole` or comes of it.
  bool comes_of(const std::string& piece, const std::string& whole) const;
  /// All cuts that saw a piece and what comes of it, in sawing order.
  std::vector<const Cut*> cuts_below(const std::string& piece) const;

 private:
  std::map<std::string, Side> made_;
  std::map<std::string, const Cut*> sawn_;
};

/// How a log lies: directions in the log frame for someone who stands at the butt and looks along
/// it.
struct Frame {
  Eigen::Vector3d along, left, up;
};

const Setup* setup_of(const SawPlan& plan, int n);  ///< null where there is none

/// The frame of a setup: along the bed, to the left, up.
Frame frame_of(const Setup& setup, double length);

/// The setup that the sections show: the first on the mill.
Setup main_setup(const SawPlan& plan);

/// The log, or a part of it where it is cross-cut first, as it first lies on the mill.
struct Lying {
  std::string name;         ///< of the piece
  double from = 0, to = 0;  ///< mm along the log
  Frame frame;
};

/// From butt to top; the whole log is one.
std::vector<Lying> lying_parts(const SawPlan& plan, double length);

/// The cross-cuts that part the log before anything else is sawn, in sawing order.
std::vector<const Cut*> parting_cuts(const SawPlan& plan);

/// Whether a cut is made on the mill, and not on a flitch.
bool is_mill_cut(const SawPlan& plan, const Cut& cut);

/// A piece as the mill leaves it, or a part of it where it is cut across before it is ripped, with
/// at least one board in it.
struct Flitch {
  std::string letter;  ///< A, B, … in sawing order; parts are A1, A2, … from the butt
  std::string whole;   ///< the letter of the flitch that it is a part of
  std::string piece;
  std::vector<Side> ancestry;
  std::size_t on_mill = 0;  ///< so many sides of the ancestry are the mill's; the rest part it
  std::vector<const Board*> boards;
  std::vector<const Cut*> cuts;  ///< edging and cross-cuts, in sawing order
  Frame frame;                   ///< lying with its narrower face up
  double low = 0, high = 0;      ///< mm, heights of its faces in its frame
  const Cut* cut_off() const { return on_mill == 0 ? nullptr : ancestry[on_mill - 1].cut; }
  bool is_part() const { return ancestry.size() > on_mill; }
  /// The name of the piece as the mill leaves it.
  std::string off_the_mill() const { return on_mill == 0 ? "log" : ancestry[on_mill - 1].name(); }
};

std::vector<Flitch> find_flitches(const SawPlan& plan, const LogShape& shape);
/// A flitch points into its plan, so the plan must outlive it.
std::vector<Flitch> find_flitches(SawPlan&& plan, const LogShape& shape) = delete;

/// The section of a piece square to the chord at x, (y, z).
Polygon piece_section(const LogShape& shape, double x, Bark bark,
                      const std::vector<Side>& ancestry);

/// What of an outline, square to the chord at x, the cuts leave of a piece.
Polygon within_piece(Polygon outline, double x, const std::vector<Side>& ancestry);

/// The cuts along the log only: what bounds a section far from the piece's ends.
std::vector<Side> lengthwise(std::vector<Side> ancestry);

/// Where the log's axis meets a plane across it, mm along the chord.
double axis_meets(const LogShape& shape, const Eigen::Vector3d& normal, double offset);

/// From where to where a piece reaches along the chord, mm: the log's ends or cuts across it, on
/// its axis.
struct Reach {
  double from = 0, to = 0;
};
Reach reach_of(const LogShape& shape, const std::vector<Side>& ancestry);

/// Where a face of a flitch has wood.
struct FaceEdge {
  double along = 0;            ///< mm
  double right = 0, left = 0;  ///< mm, in the flitch's frame
  double x = 0;                ///< mm along the chord
  Eigen::Vector2d middle;      ///< of the face there, (y, z)
};
std::vector<FaceEdge> face_edges(const LogShape& shape, const Flitch& flitch, bool upper);

/// The eight corners of a board.
std::vector<Eigen::Vector3d> corners(const Board& board);

}  // namespace kerfwright::sheet
