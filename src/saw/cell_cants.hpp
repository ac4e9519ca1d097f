#pragma once

#include <map>
#include <memory>
#include <vector>

#include "flitch_worths.hpp"
#include "grown.hpp"
#include "least_costs.hpp"
#include "stack.hpp"

namespace kerfwright::saw {

/// How a cell of first setups may go on with cants.
struct CantSpace {
  double most_slope = 0;  ///< of the second setup, either way
  double turn_cost = 0;   ///< of each cant
};

/// Upper bounds on cants of all poses of a cell, each sawn through and through after a quarter turn
/// with any slope of a space.
///
/// The second setups are a cell of their own for each stretch of slopes: the first cell, a quarter
/// turn further. A cant's faces lean as the first setup slopes; whatever first pose it is, the
/// lanes are told along the lean of the middle one, moved aside so that both agree in the middle of
/// the log, and the wood and the faces are taken wider by what is left of the difference. Stretches
/// of slopes are halved until they grow the wood no more than the first cell does.
class CellCants {
 public:
  /// @param grown of the first cell
  CellCants(const Wood& wood, const LeastCosts& costs, const PoseCell& first, const Profile& grown,
            const CantSpace& space);

  /// Adds an item for each size of cant, after the flitch classes, with rough bounds.
  void add(StackTable& table);

  /// As Refine has it, for a size of cant.
  int refine(std::size_t size, int bottom, double needed, StackTable& table);

 private:
  /// A stretch of slopes of the second setup: number `at` of 2^halvings.
  struct Stretch {
    int halvings = 0, at = 0;
    auto operator<=>(const Stretch&) const = default;
  };
  struct Second {
    const Catalogue* catalogue = nullptr;  ///< of costs for its slopes
    std::unique_ptr<Edger> edger;          ///< for it
    std::unique_ptr<Profile> profile;
    Spread spread;
    StackTable wide;             ///< flitches as if no cant had been cut
    std::vector<Interval> sawn;  ///< [level] wood that every cut there meets, along the lean
    std::vector<double> most;    ///< [cant size] no cant of that size is worth more
  };
  /// Cants of one size whose lower faces lie within a few strips.
  struct Cants {
    std::size_t size = 0;
    CantClip clip;            ///< all of them lie in it
    int left = 0, right = 0;  ///< units, what lies between is in each of them
  };

  PoseCell second_cell(const Stretch& stretch) const;
  const Second& second(const Stretch& stretch);
  void put_along_lean(std::vector<Interval>& sawn) const;
  void bound_all(Second& made);
  Cants cants_at(std::size_t size, int bottom, int heights) const;
  /// What the cuts along a cant's faces cost where they may run beside the wood, as those of a cant
  /// that is larger than what is left of the log: then none is made there.
  double cuts_beside_wood(std::size_t size, int bottom, const StackTable& table) const;
  double best_of(const Cants& cants, const Stretch& stretch, double cutoff);
  double saw(const Cants& cants, const Second& second, double cutoff);

  const Wood& wood_;
  const LeastCosts& costs_;
  const Catalogue& catalogue_;  ///< of what costs the least in any slope
  PoseCell first_;
  CantSpace space_;
  Growth growth_;
  double lean_;                 ///< of a cant's faces in the middle of the cell
  double lean_spread_;          ///< by how much others of the cell differ at most
  int face_spread_;             ///< units, how far a face may lie from where the middle has it
  Row aside_{};                 ///< units that others move aside of the middle in each cell
  std::vector<double> volume_;  ///< of volume_below
  std::map<Stretch, Second> seconds_;
};

}  // namespace kerfwright::saw
