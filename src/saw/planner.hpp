#pragma once

#include <array>
#include <functional>

#include "emit.hpp"
#include "kerfwright/saw/plan_log.hpp"
#include "search.hpp"

namespace kerfwright::saw {

/// mm; what rounding on the way to a plan can cost. Where a plan does not replay, as between
/// stations on a surface of steep bumps, the next is tried.
inline constexpr std::array<double, 3> paper_insets = {0.15, 0.6, 2.0};

/// Whether every board of a plan is there when it is sawn on paper.
using Replays = std::function<bool(const SawPlan&)>;

/// A plan and, where setting errors were drawn, what it gave in each draw, net.
struct Planned {
  SawPlan plan;
  std::vector<double> draws;
  std::optional<double> bound = {};  ///< on the net of every such plan with lanes that lie level
  std::vector<Pattern> bound_patterns = {};
  double bound_lift = 0;  ///< mm, see Totals
};

/// A plan as it was searched and as it was written.
struct Candidate {
  LogPlan plan;
  SawPlan written;
};

/// One solid being planned, uncut: the wood, the grid and the space that all attempts share.
class Planner {
 public:
  /// @param inset mm, taken off beyond bark and margin
  Planner(const LogShape& shape, const Order& order, const Mill& mill, const PlanSettings& settings,
          double inset);

  /// The best plan in the patterns of the settings that replays; without boards where there is
  /// none. Where errors are drawn, the one that gives the most in the mean.
  /// @param square_ends whether the solid's own ends may be the ends of boards
  /// @param stream of luck, so that parts of a log do not share theirs
  Planned plan(const Replays& replays, bool square_ends, std::uint64_t stream);

  /// Net of the best plan that was left out because a board was missing when it was sawn on paper;
  /// 0 where none was.
  double best_refused() const { return best_refused_; }

  /// What pieces are taken to fetch: less than the order says where it limits how many it wants.
  Prices prices() const;

  /// What sawing through and through brings in twelve turns, level: little work, some per cent off.
  double quick_worth(const Prices& prices) const;

 private:
  bool limited() const;
  Prices prices_for_hearts(Prices prices) const;
  Catalogues catalogues_of(const Order& order, const Prices& prices) const;
  std::vector<LogPlan> search(const Catalogue& catalogue, const Watch& watch) const;
  std::vector<LogPlan> search_around_of(const Catalogue& catalogue, const SearchSpace& space,
                                        const std::vector<LogPlan>& seeds) const;
  bool must_cant() const;
  SawPlan write(const LogPlan& candidate, Catalogues& catalogues, bool square_ends) const;
  bool counts(const SawPlan& plan) const;
  void take_better(SawPlan& best, SawPlan plan, const Replays& replays);
  void add_written(const std::vector<LogPlan>& plans, std::vector<Catalogues>& priced,
                   bool square_ends, std::vector<Candidate>& candidates) const;
  void add_freely_edged(std::vector<Candidate>& candidates, std::vector<Catalogues>& priced,
                        bool square_ends) const;
  Planned sure_plan(const std::vector<LogPlan>& found, std::vector<Catalogues>& priced,
                    const Replays& replays, bool square_ends, std::uint64_t stream);
  void tell_draws(Planned& planned, const Catalogues& full, std::uint64_t stream) const;
  void prove(Planned& planned, std::vector<Catalogues>& priced, const Prices& scarce,
             const Replays& replays, bool square_ends);
  Prices scarce_prices(const Prices& full) const;
  std::vector<int> free_counts(const Prices& prices, const SearchSpace& space) const;

  const LogShape& shape_;
  const Order& order_;
  const Mill& mill_;
  std::vector<Pattern> patterns_;
  double margin_, inset_;
  int draws_;
  bool prices_stand_;
  std::optional<double> gap_;
  Wood wood_;
  SearchSpace space_;
  HeightGrid grid_;
  double best_refused_ = 0.0;
};

/// The heights at which cuts may lie: steps that the mill's scale, its kerf and all sizes share.
/// @param steepest slope that is tried, upwards
HeightGrid grid_of(const Wood& wood, const Order& order, const Mill& mill, double steepest);

/// The turns and lifts to try for a log.
SearchSpace space_of(const LogShape& shape, const Mill& mill, const PlanSettings& settings);

bool any_boxes_heart(const Order& order);
bool any_blank(const Order& order);
bool any_live_edge(const Order& order);

/// The ways to saw a log, or a part of one, uncut that suit the products of an order.
std::vector<Pattern> patterns_that_suit(const Order& order);

/// The better of two; where setting errors were drawn, by the rule of better_in_the_mean, unless a
/// gap to the best is asked for, which is one of plans without errors.
Planned better_of(Planned first, Planned second, const PlanSettings& settings);

/// Takes off more and more beyond the margin until the best plan, or one nearly as good, replays.
Planned plan_uncut(const LogShape& shape, const Order& order, const Mill& mill,
                   const PlanSettings& settings, const Replays& replays, bool square_ends,
                   std::uint64_t stream);

}  // namespace kerfwright::saw
