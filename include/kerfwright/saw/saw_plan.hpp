#pragma once

#include <Eigen/Core>
#include <map>
#include <optional>
#include <string>
#include <vector>

#include "kerfwright/trade/mill.hpp"
#include "kerfwright/trade/order.hpp"

namespace kerfwright {

/// A board as a box in the log frame, mm: corner + a along + b across + c up with 0 <= a <= length,
/// 0 <= b <= width, 0 <= c <= thickness; unit vectors, square to each other, right-handed.
struct Board {
  int id = 0;
  std::string product;
  double thickness = 0, width = 0, length = 0;  ///< mm
  double value = 0;                             ///< order's currency
  std::string piece;                            ///< name of the final piece that it is
  Eigen::Vector3d corner, along, across, up;
  std::string grade = {};             ///< of its product's grades; empty where the order has none
  std::optional<double> chance = {};  ///< that it comes, or one worth as much, set as people set
};

/// One saw cut: the slab of width `kerf` centred on the plane through `point` is removed from
/// `piece`; what lies on the side of `normal` becomes `above`, the rest `below`.
struct Cut {
  int n = 0;      ///< 1, 2, … in sawing order
  int setup = 0;  ///< number of the setup it is made in
  std::string piece;
  Eigen::Vector3d point, normal;  ///< log frame; normal is a unit vector
  double kerf = 0;                ///< mm
  std::string above, below;
};

enum class SetupKind {
  log,       ///< on the mill: the log, or what is left of it
  cant,      ///< on the mill: the cant lies on a sawn face
  edging,    ///< a flitch stands on edge
  cross_cut  ///< cut to length, square to the board; as a setup: the piece stands on its end
};

/// Whether a setup of this kind lies on the mill; else the work is done by hand.
inline bool on_mill(SetupKind kind) { return kind == SetupKind::log || kind == SetupKind::cant; }

/// Minutes that a cut in a setup of this kind takes besides sawing.
double setting_minutes(SetupKind kind, const Mill& mill);

/// What lies on the mill where the log was cross-cut first.
struct LogPart {
  std::string piece;          ///< name of the part
  Eigen::Vector3d butt, top;  ///< centres of its ends, log frame, mm
};

/// How a piece lies under the saw. After roll about +x (right-handed) and lift, every cut of the
/// setup is parallel to the bed: in the log frame its normal is setup_up(setup, length).
struct Setup {
  int n = 0;
  SetupKind kind = SetupKind::log;
  double roll = 0;                     ///< degrees
  double lift_butt = 0, lift_top = 0;  ///< mm, how far each end's centre is raised above the level
                                       ///< at which the chord is parallel to the bed
  double spacer = 0;  ///< mm, of the flat board that lies between the bed and the sawn face it
                      ///< rests on, so that the blade can come low enough; 0 = none
  std::optional<LogPart> part{};  ///< none where it is the whole log, or work by hand
};

struct Totals {
  double value = 0;  ///< what the boards fetch
  double net = 0;    ///< value less the cost of sawing
  /// What the net of no plan can exceed that is sawn in one of `bound_patterns` (as in
  /// SawPlan::pattern: through and through, with cants or both), its flitches edged whole with
  /// lanes that lie level, at any turn and with either end raised by up to `bound_lift` mm; nor
  /// does this plan itself, whatever its lanes do.
  std::optional<double> bound, bound_lift;
  std::string bound_patterns = {};
  /// What such plans cannot exceed where others were searched too, which have no bound; this plan
  /// may be worth more. Then there is no `bound`.
  std::optional<double> bound_of_ways = {};
  std::optional<double> expected, q10;  ///< mean and 10 % quantile of net under setting errors
  double board_m3 = 0, log_m3 = 0, yield = 0;  ///< green boards, under-bark log
  double hours = 0;
};

/// The sums of the boards: value, board_m3, log_m3 and yield; the rest is 0 or empty.
Totals totals_of(const std::vector<Board>& boards, double log_m3);

struct SawPlan {
  std::string shape_sha256;
  Eigen::Matrix4d scan_to_log = Eigen::Matrix4d::Identity();
  Order order;
  Mill mill;
  std::string pattern;  ///< names of pattern_names; where the log is cross-cut first "cross-cut"
                        ///< and then those of the parts, with ", " between
  std::vector<Board> boards;
  std::vector<Cut> cuts;
  std::vector<Setup> setups;
  Totals totals;
  int done = 0;  ///< number of the last cut that was made when the rest was planned anew; 0 = none
  /// What is chalked on the flitches that were off by then: letter by piece.
  std::map<std::string, std::string> chalked = {};
  /// Height, mm, at which the sheet before had the last cut set that was made (over the bed, or
  /// over the board on it): what is left of that setup is told from there, wherever the model has
  /// the underside now. None where no setup was begun.
  std::optional<double> face_height = {};
};

/// The product that a board is of; null where the order has none of its name.
const Product* product_of(const Board& board, const Order& order);

/// Counts boards as made: the order wants so many fewer.
void take_off_wanted(Order& order, const std::vector<Board>& boards);

/// Numbers of the boards that the cuts made so far have finished.
std::vector<int> boards_there(const SawPlan& plan);

/// "Set a little wrong as usual (2 degrees, 3 mm) it gives 148.20 on average, and at least 139.00
/// nine times out of ten."; none where no errors were drawn.
std::optional<std::string> expectation_words(const SawPlan& plan);

/// "No plan sawn through and through whose lanes lie level is worth more than 133.43, at any turn
/// and with either end raised by up to 32 mm: this one is within 1.2 % of that."; with a word more
/// where other ways have no bound; none where no bound is known.
std::optional<std::string> bound_words(const SawPlan& plan);

/// The direction that is up at the saw, in the log frame, for a log of `length` mm between end
/// centres.
Eigen::Vector3d setup_up(const Setup& setup, double length);

/// A setup in which `up`, a unit vector of the log frame, is up: 0 <= roll < 360, one end raised.
Setup setup_with_up(const Eigen::Vector3d& up, double length);

}  // namespace kerfwright
