#pragma once

#include <array>
#include <optional>
#include <string>
#include <vector>

#include "kerfwright/saw/saw_plan.hpp"
#include "kerfwright/shape/log_shape.hpp"

namespace kerfwright {

/// The numbers of the saw sheet: what a person sets on the mill and measures with a tape. Heights
/// are whole steps of the mill's scale, everything that a tape measures is whole millimetres or,
/// on a mill in inches, whole sixteenths, and the rounding is chosen so that the boards still come
/// out. mm and degrees.

/// What the piece rests on.
struct Support {
  double place = 0;  ///< mm from the butt end of what lies on the mill
  double raise = 0;  ///< how far its underside is blocked or cranked up there
  bool beyond =
      false;  ///< the mill's own bunk lies beyond the piece; its end is blocked up instead
};

/// A face that an earlier cut made, as it lies now.
struct SawnFace {
  int cut = 0;
  double clock = 0;  ///< degrees clockwise from up, seen from the butt; 180 = on the bed
};

/// Width of the wood of a new face, without bark.
struct FaceWidth {
  double place = 0;             ///< mm from the butt end of what lies on the mill
  std::optional<double> width;  ///< none where the cut does not meet the wood
  double within =
      0;  ///< how far the tape may be off: two sigmas of the surface and a step of height
};

/// A piece that a cut leaves, in words a sawyer uses.
struct Part {
  enum class Kind {
    waste,   ///< no board is in it
    flitch,  ///< to be edged or cut to length
    board,   ///< needs no more cuts
    again,   ///< goes on the mill again
    rest     ///< stays where it is for the next cut
  };
  Kind kind = Kind::waste;
  std::string piece;         ///< its name in the plan
  std::string letter;        ///< of the flitch or board
  std::optional<int> board;  ///< number of the board where it is one
  std::vector<int> stages;   ///< where it goes on the mill again: indices into SawSteps::stages
  std::array<double, 3> thick{};  ///< butt, middle, top; over bark, where it is thickest
};

/// One cut on the mill. For a cut that shortens the log `height` is the distance of the middle of
/// the cut from the butt end of the piece.
struct MillCut {
  int n = 0;
  double height = 0;  ///< from the bed to the lower side of the cut: what stays below is this thick
  double width = 0;   ///< of the cut where it is widest, over bark
  std::array<FaceWidth, 3> face;  ///< butt, middle, top
  Part off;                       ///< what lies above the cut
  Part below;
};

/// One piece under the saw in one setup, with its cuts in order.
struct Stage {
  int setup = 0;
  SetupKind kind = SetupKind::log;
  std::string piece;
  std::optional<std::string>
      part;                       ///< name of the part of the log, where it was cut to length first
  std::optional<int> made_by;     ///< number of the cut that left it, where it is not the log
  bool came_off = false;          ///< at that cut, else it stayed below it
  double roll = 0;                ///< degrees clockwise from how the log lay when scanned
  std::optional<double> turn_on;  ///< degrees clockwise from the stage before, where the same wood
                                  ///< lay there
  bool on_face = false;           ///< it rests on a sawn face
  double spacer = 0;              ///< mm, of a flat board under that face; heights count it
  std::vector<SawnFace> faces;
  std::vector<Support> supports;
  double centre_butt = 0,
         centre_top = 0;  ///< height of the end centres, of the log or of the part, over the bed
  double hang = 0;        ///< how far its underside hangs below the bed where it hangs lowest
  double hang_at = 0;     ///< mm from its butt end
  std::vector<MillCut> cuts;
};

/// One end of a line to strike on a flitch.
struct TapePoint {
  double place = 0;     ///< mm from the flitch's butt end
  double distance = 0;  ///< from its far edge
};

/// A board of a lane, mm from the flitch's butt end.
struct Length {
  int board = 0;
  double from = 0, to = 0;
  bool cut_from = true, cut_to = true;  ///< false where the log's own end is the end
};

/// A strip of one width along a flitch, with its boards from butt to top.
struct Lane {
  enum class Side {
    line,      ///< strike a line through two points, saw on its far side
    next,      ///< a lane that is sawn before ends at its far side
    next_far,  ///< one ends at its near side: the width is measured from there
    live,      ///< the bark's own edges stay
    far_face,  ///< the far edge of the flitch is sawn already
    near_face  ///< the near edge is: the width is measured from it
  };
  Side side = Side::line;
  std::array<TapePoint, 2> line;
  double width = 0;
  std::vector<int> rips;  ///< numbers of the cuts along it
  std::vector<Length> boards;
};

/// A cut across a flitch before it is edged: where the middle of the kerf lies.
struct AcrossCut {
  int n = 0;
  double place = 0;  ///< mm from the butt end of the whole flitch
};

/// A flitch on the bench, or a part of one: narrow face up, butt end to the left.
struct FlitchSteps {
  std::string letter;
  std::string whole;              ///< the letter of the flitch that it is a part of
  std::vector<AcrossCut> across;  ///< of the whole flitch, told with its first part
  double thickness = 0;
  std::optional<int> cut;  ///< that freed it
  std::vector<Lane> lanes;
  std::vector<int> crosscuts;  ///< numbers of the cuts across it
};

struct SawSteps {
  double height_step = 1;
  std::vector<Stage> stages;
  std::vector<FlitchSteps> flitches;
  double value = 0;  ///< what comes out when these numbers are sawn on the shape
};

/// The steps of a plan. Numbers of cuts, setups and boards are those of the plan, whatever they
/// begin with.
SawSteps saw_steps(const SawPlan& plan, const LogShape& shape);

/// The stages alone, in a tenth of the time.
std::vector<Stage> saw_stages(const SawPlan& plan, const LogShape& shape);

}  // namespace kerfwright
