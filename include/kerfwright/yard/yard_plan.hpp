#pragma once

#include <cstddef>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "kerfwright/saw/plan_log.hpp"
#include "kerfwright/saw/saw_plan.hpp"
#include "kerfwright/shape/log_shape.hpp"

/// One list, many logs: a plan for every log so that the list is filled at the least cost, or the
/// most money is made where it cannot be filled.
namespace kerfwright {

/// A log of the yard under the name that the sheets give it.
struct YardLog {
  std::string name;
  LogShape shape;
};

/// Coarser than for a log alone, since there are many.
inline PlanSettings usual_yard_care() {
  PlanSettings settings;
  settings.turn_step = 5.0;
  settings.lifts = 3;
  return settings;
}

struct YardSettings {
  PlanSettings plan = usual_yard_care();  ///< how each chosen log is planned
  /// What a m3 of log under bark costs, in the order's currency. None: where the list is filled, a
  /// quarter of what a m3 of its pieces fetches, so that little wood is used; else nothing.
  std::optional<double> wood_price;
  bool list_first = false;  ///< where the list cannot be filled, still as much of it as can be
  int rounds = 10;          ///< of questions to all logs, at most
  int spread = 60;  ///< questions beside those, at prices drawn at random, all logs together
};

enum class Aim {
  fill,     ///< all of the list, for the least wood and sawing
  most_net  ///< what the boards fetch less what the sawing costs
};

/// A product that the list counts.
struct ListLine {
  std::size_t product = 0;  ///< place in the order
  int wanted = 0;
  int before = 0;  ///< made already
  int made = 0;    ///< by the plans
  int missing() const { return wanted > before + made ? wanted - before - made : 0; }
  int beyond() const { return before + made > wanted ? before + made - wanted : 0; }
};

/// How many more logs like one at hand would give what is missing, reckoned by shares of plans.
struct MoreLogs {
  std::size_t log = 0;
  int count = 0;
  std::optional<std::size_t> line;  ///< of the list; none = all that is missing
};

struct YardPlan {
  Order order;  ///< green sizes
  Mill mill;
  Aim aim = Aim::fill;
  double wood_price = 0;                      ///< that was counted, per m3
  std::vector<std::optional<SawPlan>> plans;  ///< of each log; none = leave it uncut
  std::vector<double> wood_m3;                ///< of each log, under bark
  std::vector<std::size_t> sawing;            ///< logs that are sawn, in the order of sawing
  std::vector<ListLine> list;
  std::vector<MoreLogs> more;  ///< the least wood first; empty where all is there
  double value = 0;  ///< what the boards fetch, those beyond the list at what the order says
  double hours = 0, sawing_cost = 0;
  double used_m3 = 0, all_m3 = 0;  ///< under bark
  double board_m3 = 0;
  std::optional<double> bound;  ///< no choice among the plans that were looked at brings more of
                                ///< what `result` is; none where the list came first in vain
  int plans_looked_at = 0;
  bool stopped = false;

  double net() const { return value - sawing_cost; }
  /// What is made as large as possible: net less the wood that is counted. Where the list comes
  /// first and pieces are missing, they are not in it.
  double result() const { return net() - wood_price * used_m3; }
  bool filled() const;
};

/// Plans all logs for one list. Each plan has been replayed on its shape and holds an order in
/// which `wanted` is what that log gives and what is still missing.
/// @param made pieces of each product that are made already, from logs that are not among these
/// @throws UserError bad_order where nothing is counted, log_beyond_mill with the log's name,
/// no_product_fits where no log gives anything of the list, interrupted
YardPlan plan_yard(const std::vector<YardLog>& logs, const Order& order, const Mill& mill,
                   const YardSettings& settings, const std::vector<int>& made = {});

}  // namespace kerfwright
