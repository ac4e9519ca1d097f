#pragma once

#include <optional>
#include <vector>

#include "flitch_in_hand.hpp"
#include "slipped_cuts.hpp"

namespace kerfwright::saw {

/// What one sawing of a plan gave.
struct Sawn {
  double value = 0;         ///< what its boards fetch
  std::vector<char> there;  ///< [board of the plan] 1 = it came, or one that is worth as much
};

/// A plan in the frame of the solid it was made for, taken apart into flitches that are edged by
/// what they turn out to be.
///
/// A flitch keeps the class of its thickness, and a cant its size, however the blade wandered: what
/// the saw adds or takes is the trade's tolerance. Its wood is what lies between the planes as they
/// were sawn; lanes are ripped and cut to length anew, so that a board may become narrower, shorter
/// or nothing, or more may come of it than was planned. Where lanes were planned to lean, or the
/// flitch to be cross-cut first, it is edged so, and level in one piece too, and the better counts.
class Resaw {
 public:
  /// @param shape what the plan was made for; all three must outlive this
  /// @param wood the shape's cells, pith and marks
  Resaw(const SawPlan& plan, const LogShape& shape, const Wood& wood);

  /// @param planes [cut] where the saw went
  /// @param catalogues of the plan's order at full prices; one for each thread
  Sawn saw(const DrawnWood& drawn, const std::vector<SawnPlane>& planes,
           Catalogues& catalogues) const;

  const SlippedCuts& cuts() const { return cuts_; }

 private:
  struct Flitch {
    bool live_edges = false;           ///< of slabs, which are only cut to length
    double thickness = 0, middle = 0;  ///< mm; height of its middle
    Eigen::Vector3d up;
    double value = 0;                                      ///< of its boards
    std::vector<std::size_t> boards;                       ///< of the plan
    std::optional<std::size_t> below, above, left, right;  ///< cuts that bound it
    double lean = 0, size = 0;   ///< as planned: of sawn faces beside it, between them; 0 = open
    std::vector<double> places;  ///< mm along the log where it is cut across before it is ripped
    std::vector<double> leans;   ///< of its lanes, beyond its own
  };
  /// The stretch of a flitch, between cross-cuts, that a board was ripped out of.
  struct PlannedSegment {
    double from = 0, to = 0;  ///< mm along the log
    double lean = 0;          ///< of its lanes, lateral mm per mm along the log
  };

  void find_flitches();
  void find_faces(Flitch& flitch, const std::string& piece) const;
  FlitchPlanes planes_of(const Flitch& flitch, const std::vector<SawnPlane>& planes) const;
  void bound_sides(const Flitch& flitch, const std::vector<SawnPlane>& planes,
                   FlitchPlanes& sawn) const;
  std::vector<FlitchWood> woods_of(const DrawnWood& drawn, const std::vector<FlitchPlanes>& sawn,
                                   const Catalogue& catalogue) const;
  void find_lanes(Flitch& flitch) const;
  PlannedSegment segment_of(const Board& board, const Flitch& flitch) const;
  void look_for_boards(const Flitch& flitch, const EdgedInHand& edged, Sawn& sawn) const;

  const SawPlan& plan_;
  const LogShape& shape_;
  const Wood& wood_;
  SlippedCuts cuts_;
  std::vector<int> product_;      ///< [board] index in the order
  std::vector<Flitch> flitches_;  ///< the most valuable first
};

}  // namespace kerfwright::saw
