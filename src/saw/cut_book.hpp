#pragma once

#include <map>
#include <string>

#include "kerfwright/saw/replay.hpp"
#include "kerfwright/saw/saw_plan.hpp"

namespace kerfwright::saw {

/// mm; two faces a kerf apart within this are made by one cut: as far as the replay lets a face lie
/// from its cut.
inline constexpr double shared = ReplaySettings{}.tolerance + 1e-6;

/// A plan as it is written: cuts in sawing order, the setups they are made in, names for the
/// pieces, and the minutes that it all takes.
class CutBook {
 public:
  /// @param length mm of log
  CutBook(const Order& order, const Mill& mill, double length);

  SawPlan plan;

  double minutes() const { return minutes_; }

  /// A name that no piece has yet: the kind and a number.
  std::string name(const std::string& kind) { return kind + std::to_string(++names_[kind]); }

  /// Number of the setup; one that is done by hand is shared by all cuts of the same direction.
  /// @param roll radians
  int setup(SetupKind kind, double roll, double slope);

  /// Of work by hand, in which a direction is up.
  int hand_setup(SetupKind kind, const Eigen::Vector3d& normal);

  Setup& setup_at(int number) { return plan.setups[static_cast<std::size_t>(number) - 1]; }

  void cut(int setup_number, const std::string& piece, const Eigen::Vector3d& point,
           const Eigen::Vector3d& normal, const std::string& above, const std::string& below,
           double area_mm2);

 private:
  double length_;
  std::map<std::string, int> names_;
  double minutes_ = 0;
};

}  // namespace kerfwright::saw
