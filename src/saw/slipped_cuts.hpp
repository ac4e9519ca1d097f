#pragma once

#include <map>
#include <string>
#include <vector>

#include "kerfwright/saw/saw_plan.hpp"
#include "setting_errors.hpp"

namespace kerfwright::saw {

/// Where the saw really went: the middle of a kerf is where up . p = height (log frame, mm).
struct SawnPlane {
  Eigen::Vector3d up;
  double height = 0;
  double roll_off = 0;  ///< radians, by which the piece lay turned
  /// Lateral position, in a section at x, where the plane stands at `aloft`: the section's own
  /// height over the chord along `section_up`, `across` to the right.
  double lateral(double x, double aloft, const Eigen::Vector3d& across,
                 const Eigen::Vector3d& section_up) const;
};

/// The cuts on the mill of a plan, and what each is set by:
/// - A piece without a sawn face that helps lies on its bark: it may be turned a little too far,
/// and
///   each end lifted a little too high.
/// - A piece that stands with a sawn face against the stops is turned as that face is; its ends may
///   be lifted wrongly.
/// - A piece that lies on a sawn face lies as that face does; only the blade errs.
/// In all of them each cut errs in height, by one error as a whole and one that grows from the
/// middle of the log to its ends.
class SlippedCuts {
 public:
  /// @param length mm, of the solid the plan was made for, in its frame
  SlippedCuts(const SawPlan& plan, double length);

  /// [cut of the plan] where the saw went; hand cuts as planned.
  std::vector<SawnPlane> draw(const Luck& luck, const SettingErrors& errors) const;

  /// [cut of the plan] as planned.
  std::vector<SawnPlane> planned() const;

  /// The cuts on the mill that made a piece, from the last to the first.
  std::vector<std::size_t> made_by(const std::string& piece) const;

  /// The piece that a cut on the mill left and from which this one was edged and cut to length.
  const std::string& off_the_mill(const std::string& piece) const;

  /// The cuts by hand that made a piece out of what came off the mill, from the first to the last.
  std::vector<std::size_t> made_by_hand(const std::string& piece) const;

  bool on_mill(std::size_t cut) const { return rules_[cut].on_mill; }

 private:
  enum class SetBy { bark, stops, face };
  struct Rule {
    bool on_mill = false;
    SetBy by = SetBy::bark;
    std::size_t face = 0;  ///< cut that made the face it is set by
  };
  Rule rule_for(const Cut& cut) const;

  const SawPlan& plan_;
  double length_;
  std::map<std::string, std::size_t> maker_;  ///< piece: the cut that left it
  std::vector<Rule> rules_;
};

}  // namespace kerfwright::saw
