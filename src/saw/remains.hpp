#pragma once

#include <algorithm>
#include <map>
#include <optional>
#include <string>
#include <vector>

#include "kerfwright/saw/saw_plan.hpp"
#include "lying.hpp"
#include "wood.hpp"

/// What is there once the first cuts of a plan are sawn.
namespace kerfwright::saw {

/// A sawn side of a piece: its wood lies where outward . p <= offset.
struct SawnSide {
  Eigen::Vector3d outward, point;  ///< the point lies on the side
  double offset = 0;               ///< mm
  const Cut* cut = nullptr;
  bool across() const { return std::abs(outward.x()) > 0.7; }
};

/// A piece that no cut has sawn yet.
struct Remain {
  std::string name;
  std::vector<SawnSide> sides;  ///< in sawing order

  /// Whether no face along the log is sawn yet.
  bool untouched() const {
    return std::all_of(sides.begin(), sides.end(),
                       [](const SawnSide& side) { return side.across(); });
  }
};

/// The pieces that cuts make, and by which of them.
class SawnPieces {
 public:
  /// @param cuts of these; they must outlive it
  explicit SawnPieces(const std::vector<Cut>& cuts);

  /// Pieces that none of the cuts saws, in the order in which they came to be; the log where there
  /// is no cut.
  std::vector<Remain> remains() const;

  std::vector<SawnSide> sides_of(const std::string& piece) const;

  /// Whether `piece` is `whole` or comes of it.
  bool comes_of(const std::string& piece, const std::string& whole) const;

  bool has(const std::string& piece) const { return piece == "log" || made_.contains(piece); }

 private:
  struct Made {
    const Cut* cut = nullptr;
    bool above = false;
  };
  const std::vector<Cut>& cuts_;
  std::map<std::string, Made> made_;
};

/// The sides of a piece as faces of a pose; none where one of them, cross-cuts apart, is neither
/// parallel nor square to the bed.
std::optional<Lying> lying_in(const std::vector<SawnSide>& sides, const Pose& pose);

/// The wood between a piece's cross-cuts; all of it where it has none.
Wood between_cross_cuts(Wood wood, const std::vector<SawnSide>& sides);

/// Minutes that a cut takes, setting and sawing, in what is left of the log before it.
double minutes_of(const Cut& cut, const SawPlan& plan, const SawnPieces& pieces,
                  const LogShape& shape);

}  // namespace kerfwright::saw
