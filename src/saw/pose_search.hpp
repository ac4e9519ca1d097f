#pragma once

#include <array>
#include <functional>
#include <memory>
#include <optional>
#include <vector>

#include "flitch_worths.hpp"
#include "lanes.hpp"
#include "lying.hpp"
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

/// A quarter of the log and how it is sawn, lying on one flat face with the other beside it.
struct QuarterPlan {
  Pose pose;           ///< in which its flat face is down
  double floor = 0;    ///< mm, height of that face
  bool right = false;  ///< the other flat face is on its right, else on its left
  double face = 0;     ///< mm, lateral position of that at the butt
  double lean = 0;     ///< lateral mm per mm along the log
  Stack stack;         ///< flitch classes at strips of the pose
  double worth = 0;
};

/// How a log is split in four: quarters 0 and 1 come of the half above the first plane, 2 and 3 of
/// the half below it; 0 and 2 lie above the second plane.
struct SplitPlan {
  double first = 0;   ///< mm, height of the middle of the kerf in the plan's pose
  Pose second_pose;   ///< a quarter turn further
  double second = 0;  ///< mm, height of the middle of the kerf in that
  std::array<QuarterPlan, 4> quarters;
};

/// A flitch that came off in sawing around, or stayed as the heart.
struct AroundFlitch {
  int direction = 0;                ///< whose pose its faces are level in
  int item = 0;                     ///< flitch class
  int bottom = 0;                   ///< strip of that pose
  std::optional<int> lower, upper;  ///< levels of the other direction at which it ends; none: bark
};

/// One cut in sawing around: from above with its face up.
struct AroundStep {
  int direction = 0;
  bool upper = true;  ///< the face on the upper side of its direction's pose, or that on the lower
  int level = 0;      ///< at which the blade's upper side runs, in that pose
  std::optional<AroundFlitch> flitch = {};  ///< what comes off; none: waste
};

/// How a log is sawn around, in sawing order.
struct AroundPlan {
  std::array<Pose, 2> poses;
  std::vector<AroundStep> steps;
  std::optional<AroundFlitch> heart = {};
  double worth = 0;
};

/// A way to saw the whole log: a stack of flitches and cants in one pose, a split in four, or
/// around. Items below the number of flitch classes are flitches, the others cants[item - classes].
struct LogPlan {
  Pose pose;
  Stack stack;
  std::vector<CantPlan> cants;
  std::optional<SplitPlan> split = {};
  std::optional<AroundPlan> around = {};
  std::optional<Lying> lying = {};  ///< of a piece that was sawn on some sides before
  double worth = 0;
  bool settled = false;  ///< its heights are to be kept as they are
};

/// Turned so that the second setup's planes are square to the first's, both slopes counted.
Pose quarter_turn(const Pose& first, double slope);

/// A cant of a size, mm, in the stack of the first setup.
StackItem cant_item(const Catalogue& catalogue, double size);

/// mm2 that a cut through these rows saws.
double sawn_area(const Wood& wood, const Interval& rows);

/// What cuts cost beside their area, by level as cut_costs has them.
std::vector<float> fixed_cut_costs(const Catalogue& catalogue);

/// Entry b is the cost of a cut whose upper side lies at level b; beyond the grid there is only
/// air.
std::vector<float> cut_costs(const Wood& wood, const Catalogue& catalogue, const Profile& profile);

/// The same for cuts that run between the faces that bound the flitches.
std::vector<float> cut_costs(const Wood& wood, const Catalogue& catalogue,
                             const FlitchWorths& between);

/// [strip] mm3 of wood below it.
std::vector<double> volume_below(const Wood& wood, const Profile& profile);

/// No cant is worth more than its wood, with a kerf's thickness of wood given away for the first
/// board.
/// @param volume of volume_below
double bound_by_volume(const Catalogue& catalogue, const std::vector<double>& volume, double length,
                       std::size_t size, int bottom);

/// Adds an item for cants of a size, with a rough bound at every `step`th height where that is more
/// than nothing.
void add_cant_item(const Catalogue& catalogue, std::size_t size, int step,
                   const std::function<double(int bottom)>& most, StackTable& table);

/// Lowers the worths of flitches to what lanes in a cant's size, mm, can give.
void narrow_to_cant(const Catalogue& catalogue, const FlitchWorths& flitches, double size,
                    StackTable& table);

/// [cant size] what no cant of that size is worth more than in a second setup, sawn whole there
/// with each flitch narrowed to what lanes in that size can give.
/// @param wide flitches along the lean of the faces, of which all that is rough is made better
/// known
std::vector<double> most_of_cants(const Catalogue& catalogue, FlitchWorths& flitches, Edger& edger,
                                  StackTable& wide);

/// Drops the cants of which a new stack made no use.
/// @param classes of flitches, after which the stack's items are cants
void keep_cants_of_stack(LogPlan& plan, int classes);

/// How a quarter's second flat face bounds its lanes.
CantClip quarter_clip(const QuarterPlan& quarter, const Catalogue& catalogue);

/// How cants are looked for in one pose.
struct CantSearch {
  int step = 1;                ///< strips between the heights that are tried
  std::vector<double> slopes;  ///< of the second setup
  double turn_cost = 0;        ///< of the second setup
  bool must = false;           ///< only plans with a cant count
};

/// Plans one pose. Bounds are kept, so that a first look is not wasted when an exact plan is asked
/// for.
class PoseSearch {
 public:
  /// @param lying faces that are there already, none of them at the sides
  PoseSearch(const Wood& wood, const Catalogue& catalogue, const Pose& pose,
             const Lying& lying = {});

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

  void keep_between(StackTable& table) const;
  Stack live_stack(double cutoff, Known enough);
  void add_cants(StackTable& table, const CantSearch& search);
  int bound_cants_near(std::size_t size, int bottom, const CantSearch& search, double needed,
                       StackTable& table);
  void refine_cant(std::size_t size, int bottom, const CantSearch& search, double needed,
                   StackTable& table);
  Stack saw_cant(const CantClip& clip, const Second& second, double cutoff, Known enough);
  const Second& second(double slope);
  void bound_cants_of(Second& setup);

  const Wood& wood_;
  const Catalogue& catalogue_;
  Pose pose_;
  Lying lying_;
  Profile profile_;
  FlitchWorths flitches_;
  Edger edger_;
  StackTable table_;             ///< flitches only
  std::vector<double> volume_;   ///< of volume_below
  std::vector<Second> seconds_;  ///< a quarter turn further, by slope
  std::vector<CantPlan> cants_;  ///< exactly planned
};

}  // namespace kerfwright::saw
