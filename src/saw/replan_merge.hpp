#pragma once

#include <optional>
#include <set>
#include <string>
#include <vector>

#include "remains.hpp"
#include "worth.hpp"

/// One plan of the cuts that are made and of how each piece that is left goes on.
namespace kerfwright::saw {

/// How far a log is sawn.
struct SawnSoFar {
  /// @param old plan, which must outlive this, as must the shape
  SawnSoFar(const SawPlan& old, const LogShape& shape, int done);

  /// Whether a setup of the old plan lies on the mill.
  bool is_on_mill(int setup) const;

  const SawPlan& old;
  const LogShape& shape;
  int done;
  std::vector<Cut> sawn;  ///< cuts that are made
  std::set<int> begun;    ///< numbers of their setups
  std::string lying;      ///< the piece that lies on the mill as it was sawn; empty = none
  std::optional<Setup> lying_setup;               ///< in which it lies
  Eigen::Vector3d up = Eigen::Vector3d::UnitZ();  ///< of that
};

/// How one piece that is left goes on.
struct Way {
  std::vector<Board> boards;
  std::vector<Cut> cuts;
  std::vector<Setup> setups;
  std::string pattern;  ///< empty: that of the old plan
  bool fresh = false;   ///< numbers of its own, else those of the old plan
  bool lies = false;    ///< its piece lies on the mill as the last cut left it
};

class Merger {
 public:
  explicit Merger(const SawnSoFar& so_far);

  /// The cuts that are made and those of the ways, numbered on: first all on the mill, then what
  /// is done by hand.
  SawPlan merged(const std::vector<Way>& ways) const;

 private:
  void add_cuts(const Way& way, int number, std::vector<Cut>& cuts,
                std::vector<Setup>& setups) const;
  bool goes_on(const Setup& setup) const;
  bool is_one(const Setup& a, const Setup& b) const;
  void number_on(SawPlan& plan, std::vector<Cut> cuts, const std::vector<Setup>& setups) const;
  double minutes_left(const SawPlan& plan) const;
  void total(SawPlan& plan) const;

  const SawnSoFar& so_far_;
  WoodMarks marks_;
  int last_board_ = 0;
  double old_minutes_;
};

}  // namespace kerfwright::saw
