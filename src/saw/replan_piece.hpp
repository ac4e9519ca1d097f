#pragma once

#include "planner.hpp"
#include "remains.hpp"

/// A new way to saw one piece that is left.
namespace kerfwright::saw {

/// A piece, and what is known of it.
struct PieceTask {
  const LogShape& shape;
  const Order& order;  ///< what it still wants
  const Mill& mill;
  const PlanSettings& settings;
  const Remain& piece;
  std::optional<Eigen::Vector3d> up;         ///< what is up where it lies on the mill
  std::optional<Eigen::Vector3d> flitch_up;  ///< of a flitch that is off, square to its faces
  std::optional<LogPart> part;               ///< of which it comes
};

/// Plans of the piece alone, with numbers of their own and pieces named after it, in the order in
/// which they are to be tried: most valuable first.
std::vector<SawPlan> plans_of_piece(const PieceTask& task, double inset);

/// The same for a piece that is the log or a part of it between cross-cuts.
SawPlan plan_of_part(const PieceTask& task, const Replays& replays);

}  // namespace kerfwright::saw
