#pragma once

#include <optional>

#include "kerfwright/saw/pattern.hpp"
#include "kerfwright/saw/saw_plan.hpp"
#include "kerfwright/saw/watch.hpp"
#include "kerfwright/shape/log_shape.hpp"

namespace kerfwright {

inline constexpr int usual_draws = 200;
inline constexpr int most_draws = 10000;

struct PlanSettings {
  double turn_step = 1.0;  ///< degrees between the turns that are tried, 0.25 to 45
  int lifts = 7;           ///< lifts of one end that are tried at each turn, odd, 1 to 21
  double margin_sigmas =
      1.0;  ///< the surface is taken to lie this many of its own sigmas further in
  std::vector<Pattern> patterns;  ///< ways of sawing to choose from; empty = all that suit. With
                                  ///< cross_cut alone the parts may be sawn in any way
  Watch watch{};                  ///< who hears how far the search is, and may end it
  int draws = 0;  ///< how often the best plans are sawn on paper with the mill's setting errors to
                  ///< choose among them, up to most_draws; 0 = as if all were set exactly
  bool prices_stand = false;  ///< what is wanted limits the counts, but the order's prices already
                              ///< tell what is scarce: none is lowered to find that out
  std::optional<double> gap = {};  ///< per cent, 0 to 100: where only sawing through and through is
                                   ///< allowed, prove that the plan is within so much of the best
                                   ///< with lanes that lie level, and look for better ones
  int threads = 0;   ///< 0 = as many as the machine has; the plan is the same with any number
  int written = 24;  ///< how many of the best poses are written in full, with lanes that lean, 1 to
                     ///< 1000; the best of those is the plan
};

/// Finds how to turn, set and saw the log so that the boards are worth the most.
/// The plan has been replayed on `shape`.
/// @throws UserError no_product_fits; interrupted where the watch stopped it before there was a
/// plan
SawPlan plan_log(const LogShape& shape, const Order& order, const Mill& mill,
                 const PlanSettings& settings);

}  // namespace kerfwright
