#pragma once

#include <array>
#include <map>
#include <optional>
#include <vector>

#include "kerfwright/saw/saw_plan.hpp"
#include "kerfwright/shape/log_shape.hpp"
#include "pose_search.hpp"

namespace kerfwright::saw {

/// A flitch with what is ripped and cut out of it, in millimetres.
struct FlitchLayout {
  double bottom = 0;  ///< height of its lower face in the frame of its pose
  double thickness = 0;
  double lean = 0;          ///< lateral mm per mm along the log
  bool live_edges = false;  ///< it is only cut to length
  struct Place {
    int product = 0, length = 0;  ///< indices in the order
    double left = 0;   ///< lateral position of its left edge at the butt, before the lean
    double start = 0;  ///< mm along the log of its nearest corner
    double width = 0;  ///< mm, of a slab in the mean
  };
  std::vector<Place> pieces;                    ///< from left to right, then from butt to top
  std::optional<double> face_left, face_right;  ///< lateral positions of a cant's sawn faces
  /// Where it is cross-cut before it is ripped: its segments from butt to top, each with lanes of
  /// its own, and mm along the log of the middle of the kerf below each.
  std::vector<FlitchLayout> segments = {};
  double from = 0;
};

struct CantLayout {
  double bottom = 0, size = 0;           ///< in the frame of the first pose
  Pose pose;                             ///< of the second setup
  double lean = 0;                       ///< of its sawn faces, lateral mm per mm along the log
  double face_left = 0, face_right = 0;  ///< mm, where they lie in the second setup
  std::vector<FlitchLayout> flitches;
};

/// A quarter of the log, on one of its flat faces.
struct QuarterLayout {
  Pose pose;
  double floor = 0;  ///< mm, height of the face it lies on, in the frame of its pose
  double lean = 0;   ///< of its other flat face, as that of its flitches
  std::optional<double> face_left, face_right;  ///< where that lies, one of them
  std::vector<FlitchLayout> flitches;
};

/// A log split in four, as SplitPlan numbers the quarters.
struct SplitLayout {
  double first = 0;  ///< mm, height of the middle of the first kerf
  Pose second_pose;
  double second = 0;  ///< mm, height of the middle of the second kerf in that pose
  std::array<QuarterLayout, 4> quarters;
};

/// A log sawn around, as AroundPlan numbers the directions.
struct AroundLayout {
  struct Step {
    int direction = 0;
    bool upper = true;                        ///< the face on the upper side of its pose is up
    double plane = 0;                         ///< mm, height of the middle of the kerf in that pose
    std::optional<FlitchLayout> flitch = {};  ///< what comes off; none: waste
  };
  std::array<Pose, 2> poses;
  std::vector<Step> steps;
  int heart_direction = 0;
  std::optional<FlitchLayout> heart = {};
};

/// A whole log, ready to be written as cuts.
struct LogLayout {
  Pose pose;
  std::vector<FlitchLayout> flitches;
  std::vector<CantLayout> cants;
  std::optional<SplitLayout> split = {};
  std::optional<AroundLayout> around = {};
  std::optional<Lying> lying = {};  ///< faces that are there already
  bool square_ends = true;          ///< the ends of the solid may be those of boards
};

/// What the order still wants of each product; empty = as many as come.
using Remaining = std::vector<std::optional<int>>;

/// Catalogues of one order in which products that are not wanted any more fetch nothing.
class Catalogues {
 public:
  Catalogues(const Order& order, const Mill& mill, const Prices& prices, const HeightGrid& grid,
             double length, double reach, bool thin_cants = false)
      : order_(order),
        mill_(mill),
        prices_(prices),
        grid_(grid),
        length_(length),
        reach_(reach),
        thin_cants_(thin_cants) {}

  const Catalogue& all() { return without(std::vector<bool>(order_.products.size(), false)); }
  const Catalogue& without(const std::vector<bool>& unwanted);
  const Order& order() const { return order_; }

 private:
  const Order& order_;
  const Mill& mill_;
  Prices prices_;
  HeightGrid grid_;
  double length_, reach_;
  bool thin_cants_;
  std::map<std::vector<bool>, Catalogue> made_;
};

/// Edges every flitch of a plan, the most valuable first, to what is still wanted, and lays its
/// pieces where they have the most wood around them.
LogLayout layout_of(const LogPlan& plan, const Wood& wood, Catalogues& catalogues);

/// The cuts, boards, setups and totals of a layout.
SawPlan emit_plan(const LogLayout& layout, const LogShape& shape, const Order& order,
                  const Mill& mill);

}  // namespace kerfwright::saw
