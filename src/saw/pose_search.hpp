#pragma once

#include <memory>
#include <vector>

#include "flitch_worths.hpp"
#include "lanes.hpp"
#include "profile.hpp"
#include "stack.hpp"
#include "wood.hpp"

namespace kerfwright::saw {

/// A cant and how it is sawn after a quarter turn.
struct CantPlan {
  double size = 0;  ///< mm, between its sawn faces
  int bottom = 0;   ///< strip of the first setup at which its lower face lies
  Pose pose;        ///< of the second setup
  Stack stack;      ///< flitch classes at strips of the second setup
  double worth = 0;
};

/// A way to saw the whole log: a stack of flitches and cants in one pose. Items below the number of
/// flitch classes are flitches, the others cants[item - classes].
struct LogPlan {
  Pose pose;
  Stack stack;
  std::vector<CantPlan> cants;
  double worth = 0;
};

/// How cants are looked for in one pose.
struct CantSearch {
  int step = 1;                ///< strips between the heights that are tried
  std::vector<double> slopes;  ///< of the second setup
  double turn_cost = 0;        ///< of the second setup
};

/// Plans one pose. Bounds are kept, so that a first look is not wasted when an exact plan is asked
/// for.
class PoseSearch {
 public:
  PoseSearch(const Wood& wood, const Catalogue& catalogue, const Pose& pose);

  /// An upper bound on sawing through and through.
  double live_bound();

  /// The best plan without cants that is worth more than `cutoff`; worth 0 where there is none.
  LogPlan best_live(double cutoff);

  /// The best plan, with cants or without, that is worth more than `cutoff`.
  LogPlan best_with_cants(const CantSearch& search, double cutoff);

 private:
  struct Second {
    Pose pose;
    std::unique_ptr<Profile> profile;
    StackTable wide;           ///< flitches as if no cant had been cut, along the lean of its faces
    std::vector<double> most;  ///< [cant size] no cant of that size is worth more in this setup
  };

  Stack live_stack(double cutoff, Known enough);
  void add_cants(StackTable& table, const CantSearch& search);
  double bound_by_volume(std::size_t size, int bottom) const;
  void bound_cants_near(std::size_t size, int bottom, const CantSearch& search, double needed,
                        StackTable& table);
  void refine_cant(std::size_t size, int bottom, const CantSearch& search, double needed,
                   StackTable& table);
  Stack saw_cant(const CantClip& clip, const Second& second, double cutoff, Known enough);
  const Second& second(double slope);
  void bound_cants_of(Second& setup);

  const Wood& wood_;
  const Catalogue& catalogue_;
  Pose pose_;
  Profile profile_;
  FlitchWorths flitches_;
  Edger edger_;
  StackTable table_;             ///< flitches only
  std::vector<double> volume_;   ///< [strip] mm3 of wood below it
  std::vector<Second> seconds_;  ///< a quarter turn further, by slope
  std::vector<CantPlan> cants_;  ///< exactly planned
};

}  // namespace kerfwright::saw
