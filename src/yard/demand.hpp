#pragma once

#include <cstddef>
#include <memory>
#include <optional>
#include <vector>

#include "kerfwright/saw/saw_plan.hpp"

/// The list as numbers, and what a log may do for it. Nothing here knows what a board looks like.
namespace kerfwright::yard {

/// One length of a product that is counted.
struct Kind {
  std::size_t line = 0;    ///< of the demand
  std::size_t length = 0;  ///< place among the product's lengths
  double value = 0;        ///< what a clear piece fetches while the list wants it
};

/// A product that is counted, all lengths together.
struct Line {
  std::size_t product = 0;  ///< place in the order
  int wanted = 0;
  double beyond = 0;   ///< share of its value that a piece more fetches
  double missing = 0;  ///< what each piece that is missing costs; 0 = only what it would fetch
};

struct Demand {
  std::vector<Line> lines;
  std::vector<Kind> kinds;  ///< those of one line stand together, in the order of its lengths
};

/// What one plan of one log does for the list.
struct Offer {
  std::size_t log = 0;
  std::vector<int> counts;  ///< of each kind
  double worth = 0;  ///< all else that it brings: what boards fetch that are not counted, and the
                     ///< counted ones as if all of them were beyond what is wanted, less the sawing
  double wood = 0;   ///< what the log costs if it is sawn
  std::shared_ptr<const SawPlan> plan = {};  ///< none in tests

  double net() const { return worth - wood; }
};

/// Offers that are sawn, at most one a log.
using Choice = std::vector<std::optional<Offer>>;

/// Pieces of each kind that a choice gives.
std::vector<int> counts_of(const Choice& choice, std::size_t kinds);

/// Pieces of each line.
std::vector<int> line_counts(const Demand& demand, const std::vector<int>& counts);

/// What is wanted and not there, all lines together.
int missing_in(const Demand& demand, const std::vector<int>& counts);

/// What the dearest piece of a line fetches.
double dearest_piece(const Demand& demand, std::size_t line);

/// What pieces bring beside the worth of their offers: of each line the dearest as many as are
/// wanted count in full; what is missing is paid for.
double worth_of_counts(const Demand& demand, const std::vector<int>& counts);

/// What a choice brings in all.
double worth_of(const Demand& demand, const Choice& choice);

}  // namespace kerfwright::yard
