#pragma once

#include <array>
#include <cstdint>
#include <limits>
#include <memory>
#include <vector>

#include "kerfwright/trade/mill.hpp"
#include "kerfwright/trade/order.hpp"
#include "profile.hpp"
#include "slab.hpp"

namespace kerfwright::saw {

struct FlitchMarks;
class LaneMarks;
struct LaneWorth;

/// What pieces of one product, laid end to end with a kerf between, are worth in a run of clear
/// wood. The recurrence is the unbounded knapsack: worth(l) = max over lengths p of value(p) +
/// worth(l - p - kerf).
struct Trimming {
  std::vector<float> worth;  ///< [whole mm of run]
  std::vector<int> piece;    ///< [whole mm of run] index of the length to saw first, -1 = none
};

/// What a piece is taken to fetch while planning: [product][length], less what sawing it off costs.
/// May differ from the order's values where the number of pieces is limited.
using Prices = std::vector<std::vector<double>>;

/// Different wanes that the flitches of one thickness can tell apart; a lane beyond them gets less
/// than it may have.
inline constexpr std::size_t most_wanes = 3;

/// One product as a lane of a flitch: a strip of its width that is ripped out and cut to lengths.
struct Lane {
  /// Whether it counts where along a piece its wane lies.
  bool partly_waney() const { return wane >= 0 && wane_length < 1.0; }
  int product = 0;           ///< index in the order
  double width = 0;          ///< mm, across the flitch
  int width_units = 0;       ///< rounded up
  int pitch_steps = 0;       ///< width and a kerf in lateral steps, rounded up
  int wane_units = 0;        ///< how far an arris may lie inside the box, across the flitch
  int wane = -1;             ///< index in the wanes of its class, -1 = none
  bool boxed_heart = false;  ///< the pith must run inside it
  double wane_length = 1;    ///< share of a piece's length that may have wane
  double rip_cost = 0;       ///< of the rip cut along one side
  double start_cost = 0;     ///< of the cross-cut before its first piece
  Trimming trimming;         ///< at the most that any place can fetch
  std::shared_ptr<const LaneWorth> by_place;  ///< what a piece is worth by where it lies
};

/// A flitch of one thickness and what comes out of it: lanes that are ripped out, or slabs that
/// keep both natural edges, never both.
struct FlitchClass {
  double thickness = 0;      ///< mm
  int strips = 0;            ///< strips of height it takes, rounded up
  int pitch = 0;             ///< the same with a kerf above
  bool boxes_heart = false;  ///< whether any lane must
  std::vector<int> wanes;    ///< strips of height that wane may take on each side, increasing, at
                             ///< most most_wanes; empty where no lane may have any
  std::vector<Lane> lanes;
  std::vector<Slab> slabs;
  std::vector<float> density;  ///< [mm of clear width] most that a mm of length can be worth
  std::vector<float> whole;    ///< [mm of clear width] most that lanes of the whole length can be
                               ///< worth, less what ripping them costs
  std::vector<float> filled;   ///< [cant size] most that lanes of the whole length can be worth
                              ///< which fill such a cant from face to face, a rip less paid than
                              ///< there are lanes; 0 = none do. Only for bounds
  double least_cost = 0;   ///< of any edging, between sawn faces
  double beside_bark = 0;  ///< of the rip cut more that lanes beside bark need
};

/// Everything about the order and the mill that the search needs, in its own units.
struct Catalogue {
  HeightGrid grid;
  double kerf = 0;
  int kerf_strips = 0;          ///< rounded up
  int step_units = 10;          ///< lateral step, units
  double length = 0;            ///< mm of log
  double fixed_cut_cost = 0;    ///< of a cut of the log or a cant
  double fixed_rip_cost = 0;    ///< of an edging cut
  double fixed_cross_cost = 0;  ///< of a cross-cut
  double area_cost = 0;         ///< of a mm2 of sawn area
  double max_cut_width = 1e9;   ///< mm, the widest cut the mill can make
  double lowest_cut = 0;        ///< mm, how near to the bed the blade can come
  double turn_cost = 0;         ///< of turning the log or a cant
  std::vector<double> bunks;    ///< mm from the butt, where the bed carries the log
  double tape_step = 1;         ///< mm, what distances on a flitch are told to
  bool by_place = false;        ///< whether what a piece fetches depends on where it lies
  std::vector<FlitchClass> classes;
  std::vector<std::vector<double>> lengths;  ///< mm, [product][length]
  std::vector<double> cant_sizes;    ///< mm, thicknesses of cant that suit the order, increasing
  std::vector<double> most_per_mm3;  ///< [cant size] most that a mm3 of it can be worth, a kerf
                                     ///< counted with each board
};

/// Most that a mm3 can be worth in lanes no wider than `size`, mm.
double densest(const Catalogue& catalogue, double size);

/// mm; what rounding sizes up to it costs is less than a saw is set to.
inline constexpr double finest_step = 0.25;

/// Coarsest step, among `wish` / 1, 2, 3 … down to the finest, in which rounding kerf plus size up
/// costs no size more than half a per cent; the finest where none is.
double common_step(double wish, double kerf, const std::vector<double>& sizes);

/// @param thin_cants whether a cant may be thinner than a quarter of the log
/// @param units_across lateral step; 0 = the coarsest in which no width loses more than half a per
/// cent
Catalogue catalogue_of(const Order& order, const Mill& mill, const Prices& prices,
                       const HeightGrid& grid, double length, double reach, bool thin_cants = false,
                       int units_across = 0);

Prices prices_of(const Order& order, const Mill& mill);

/// Most that lanes side by side can bring in each clear width up to `most_mm` when each lane of a
/// kind brings `worth`: an unbounded knapsack over widths.
std::vector<float> packing(const std::vector<Lane>& lanes, const std::vector<double>& worth,
                           double kerf, int most_mm);

/// A piece in a flitch.
struct Piece {
  int product = 0;
  int length = 0;           ///< index in the product's lengths
  int left = 0;             ///< lateral position of its left edge, of a slab the mean, units
  double start = 0;         ///< mm along the log
  int run = 0;              ///< pieces of one run of clear wood and one segment share a number
  double spare = 0;         ///< mm by which the pieces of the run together could move along it
  double width = 0;         ///< mm, of a slab in the mean; 0 = that of its lane
  std::size_t segment = 0;  ///< of the flitch, where that is cross-cut before it is ripped
};

/// The clear wood of a flitch. `outer` is common to its whole thickness, `inner[i]` to the
/// thickness without the i-th wane of its class; a lane with wane needs its full width only on its
/// inner part.
struct FlitchWood {
  Interval outer;
  std::array<Interval, most_wanes> inner;
  /// Where a lane that boxes the heart must reach to: it starts at `right` or left of it and ends
  /// at `left` or right of it, in each cell. No lane can where the pith is not inside the
  /// thickness.
  Interval heart;
  int strip = 0;        ///< bottom of the flitch
  double end_loss = 0;  ///< mm of a run lost because the flitch is not square to the sections
  double lean = 0;      ///< lateral mm per mm along the log that the rip lines follow
  int zero = 0;         ///< units, where the lateral grid starts
  bool between_faces = false;  ///< a sawn face may be the edge of a lane
  int first_cell = 0, last_cell = 0;
  std::shared_ptr<const FlitchMarks> marks;  ///< empty: any piece fetches the most there is
};

inline constexpr double heart_margin = 5.0;  ///< mm of wood about a boxed pith, at least

/// Narrows the clear wood of a lane to where it boxes the heart.
void narrow_to_heart(const FlitchWood& wood, const Lane& lane, std::size_t cell, int& left,
                     int& right);

/// An upper bound on what any lanes and trims of the class can take out of such wood.
float bound_of(const FlitchClass& flitch, const FlitchWood& wood,
               const std::vector<double>& border);

using CellBits = std::array<std::uint64_t, 2>;  ///< one bit for each cell

/// Lays lanes side by side and trims each: exact for lanes on the lateral grid.
///
/// F(u) is the best of what lies left of u when the next lane may start at u:
///   F(u + pitch_k) = max(F(u + pitch_k), F(u) + lane_k(u)),  F(u + 1) = max(F(u + 1), F(u)),
/// where lane_k(u) sums, over the runs of cells that are clear from u to u + width_k, what trimming
/// gives. Of two equal layouts the one found first, from the left, wins.
class Edger {
 public:
  Edger(const Catalogue& catalogue, const std::vector<double>& border)
      : catalogue_(catalogue), border_(border) {}

  /// What the best layout is worth, never less than 0.
  double best(const FlitchClass& flitch, const FlitchWood& wood);

  /// The same layout as pieces, from left to right, then from butt to top.
  std::vector<Piece> layout(const FlitchClass& flitch, const FlitchWood& wood);

 private:
  /// What the cells say together about where a lane may lie, units.
  struct Extent {
    Unit from = std::numeric_limits<Unit>::max();  ///< no lane starts before
    Unit to = std::numeric_limits<Unit>::min();    ///< none ends after
    Unit whole_from = std::numeric_limits<Unit>::min();
    Unit whole_to = std::numeric_limits<Unit>::max();  ///< clear in every cell in between
  };
  static Extent extent_of(const Interval& rows, const FlitchWood& wood);

  /// Where a lane is clear; starts are counted in lateral steps.
  struct Clear {
    const Interval* rows = nullptr;
    Extent extent;
    double loss = 0;                       ///< mm of a run at its ends
    double cost = 0;                       ///< of ripping the lane
    int first = 0, last = -1;              ///< starts that may bring something
    int whole_first = 0, whole_last = -1;  ///< starts where it is clear in every cell
    double whole_net = 0;                  ///< what it brings there, less its cost
    bool plain = true;                     ///< where no mark touches it, it fetches the most
    bool graded = false;                   ///< marks that are no damage count, too
    CellBits seen{};                       ///< cells that were clear at the start before …
    float seen_worth = 0;                  ///< … and what they brought: often the next's too
  };
  class PlainLanes;
  void prepare(const FlitchClass& flitch, const FlitchWood& wood);
  LaneMarks* marks_at(const FlitchWood& wood, const Lane& lane, std::size_t k, int left);
  double net_of(const FlitchWood& wood, const Lane& lane, std::size_t k, int step);
  CellBits cells_of(const FlitchWood& wood, const Lane& lane, std::size_t k, int left) const;
  double sweep(const FlitchClass& flitch, const FlitchWood& wood, bool keep_trace);
  double length_of(const FlitchWood& wood) const;
  double rip_cost(const Lane& lane, double share) const;

  const Catalogue& catalogue_;
  const std::vector<double>& border_;
  std::vector<Clear> clear_;        ///< [lane]
  std::vector<Interval> own_rows_;  ///< [lane] where they are not those of the flitch
  int start_ = 0;                   ///< units, first lateral position of the last sweep
  int steps_ = 0;                   ///< lateral positions after it
  std::vector<double> best_;
  std::vector<std::shared_ptr<LaneMarks>> marks_;  ///< [lane] once a mark touches it
  std::vector<int> trace_;                         ///< lane that ends here, -1 = none
};

}  // namespace kerfwright::saw
