#include "kerfwright/saw/plan_log.hpp"

#include <omp.h>

#include <algorithm>
#include <cmath>

#include "cross_cut.hpp"
#include "kerfwright/error.hpp"
#include "kerfwright/saw/replay.hpp"
#include "kerfwright/trade/target_size.hpp"
#include "mill_limits.hpp"
#include "plan_if_any.hpp"
#include "planner.hpp"
#include "setting_errors.hpp"

namespace kerfwright {
namespace {

constexpr double time_before_parts = 0.7;  // share of it for the uncut log, where it has an end
constexpr double time_before_proof = 0.5;  // the same for the search, where a bound comes after it
constexpr double most_reach = 3000;        // mm from the chord that the lateral units can hold

void check(const LogShape& shape, const PlanSettings& settings) {
  if (!(settings.turn_step >= 0.25 && settings.turn_step <= 45.0) || settings.lifts < 1 ||
      settings.lifts > 21 || settings.lifts % 2 == 0 || !(settings.margin_sigmas >= 0.0)) {
    throw UserError(
        Fault::usage,
        "The turn step must be 0.25 to 45 degrees, the number of lifts odd and 1 to 21, "
        "the margin not negative.");
  }
  if (settings.gap && !(*settings.gap >= 0.0 && *settings.gap <= 100.0)) {
    throw UserError(Fault::usage, "The gap to the best is 0 to 100 per cent.");
  }
  if (settings.written < 1 || settings.written > 1000) {
    throw UserError(Fault::usage, "The plans that are written in full are 1 to 1000.");
  }
  if (settings.draws < 0 || settings.draws > most_draws) {
    throw UserError(Fault::usage,
                    "Setting errors are drawn 0 to " + std::to_string(most_draws) + " times.");
  }
  if (saw::wood_of(shape, 0.0, 0.0).reach() > most_reach) {
    throw UserError(Fault::log_out_of_range,
                    "The log reaches more than 3 m from the line between its ends.");
  }
}

bool allows(const PlanSettings& settings, Pattern pattern) {
  return settings.patterns.empty() || is_among(settings.patterns, pattern);
}

/// A cross-cut alone leaves open how the parts are sawn.
bool only_cross_cut(const PlanSettings& settings) {
  return settings.patterns.size() == 1 && settings.patterns.front() == Pattern::cross_cut;
}

bool saws_slabs(const PlanSettings& settings) {
  return only_cross_cut(settings) || allows(settings, Pattern::slabs);
}

/// Whether any pattern that was asked for edges boards.
bool saws_edged(const PlanSettings& settings) {
  return settings.patterns.empty() || only_cross_cut(settings) ||
         std::any_of(settings.patterns.begin(), settings.patterns.end(), [](Pattern pattern) {
           return pattern != Pattern::slabs && pattern != Pattern::blanks &&
                  pattern != Pattern::cross_cut;
         });
}

/// Whether nothing else than slabs and blanks is asked for, and blanks are.
bool blanks_without_boards(const PlanSettings& settings) {
  return is_among(settings.patterns, Pattern::blanks) && !saws_edged(settings);
}

/// What is sawn out of the log as it lies, or of a part of it.
std::vector<Pattern> uncut_patterns(const PlanSettings& settings, const Order& order) {
  std::vector<Pattern> patterns = settings.patterns;
  std::erase(patterns, Pattern::cross_cut);
  if (!patterns.empty()) return patterns;
  return saw::patterns_that_suit(order);
}

/// Says when a pattern was asked for by name that no product of the order suits.
void refuse_patterns_without_product(const PlanSettings& settings, const Order& order) {
  if (is_among(settings.patterns, Pattern::boxed_heart) && !saw::any_boxes_heart(order)) {
    throw UserError(Fault::no_product_fits,
                    "The pattern 'boxed-heart' suits no product of the order: give a beam or "
                    "sleeper heart = \"boxed\", or leave the pattern out.");
  }
  if (is_among(settings.patterns, Pattern::slabs) && !saw::any_live_edge(order)) {
    throw UserError(Fault::no_product_fits,
                    "The pattern 'slabs' suits no product of the order: give a slab live_edge = "
                    "true and a 'min_width', or leave the pattern out.");
  }
  if (is_among(settings.patterns, Pattern::blanks) && !saw::any_blank(order)) {
    throw UserError(Fault::no_product_fits,
                    "The pattern 'blanks' suits no product of the order: give a short block blank "
                    "= true, or leave the pattern out.");
  }
  const bool slabs_only = std::all_of(order.products.begin(), order.products.end(),
                                      [](const Product& product) { return product.live_edge; });
  if (slabs_only && !saws_slabs(settings)) {
    throw UserError(Fault::no_product_fits,
                    "The order wants only slabs with live edges, and the patterns that were asked "
                    "for saw none; add the pattern 'slabs', or leave the patterns out.");
  }
}

bool suits(const PlanSettings& settings, const Product& product) {
  if (product.live_edge) return saws_slabs(settings);
  if (product.boxed_heart && !allows(settings, Pattern::boxed_heart)) return false;
  return saws_edged(settings) || (product.blank && blanks_without_boards(settings));
}

/// Products that no pattern saws are left alone.
Order suited(Order order, const PlanSettings& settings) {
  for (Product& product : order.products) {
    if (suits(settings, product)) continue;
    product.wanted = 0;
    product.beyond = 0.0;
  }
  return order;
}

saw::Planned plan_patterns(const LogShape& shape, const Order& order, const Mill& mill,
                           const PlanSettings& settings) {
  PlanSettings uncut = settings;
  uncut.patterns = uncut_patterns(settings, order);
  const auto replays = [&](const SawPlan& plan) { return replay(plan, shape).complete; };
  saw::Planned best;
  const bool must_part = only_cross_cut(settings);
  // Blanks are short: bolts with a turn of their own are a way to saw them.
  const bool may_part = allows(settings, Pattern::cross_cut) || blanks_without_boards(settings);
  if (may_part && uncut.gap) uncut.gap = 100.0;  // so there is nothing to prove
  if (!must_part) {
    if (may_part) uncut.watch = settings.watch.within(time_before_parts);
    best = saw::plan_uncut(shape, order, mill, uncut, replays, true, 0);
  }
  if (!may_part) return best;
  uncut.watch = settings.watch;
  best.bound.reset();  // what parts can bring is not bounded
  saw::Planned parts = saw::plan_in_parts(shape, order, mill, uncut, must_part);
  if (parts.plan.boards.empty() || !replays(parts.plan)) return best;
  return saw::better_of(std::move(best), std::move(parts), settings);
}

/// A heart that is sawn around may be boxed; else nothing may unless that is asked for.
saw::Planned best_plan(const LogShape& shape, const Order& order, const Mill& mill,
                       const PlanSettings& settings) {
  const bool around_alone_boxes = saw::any_boxes_heart(order) &&
                                  !allows(settings, Pattern::boxed_heart) &&
                                  is_among(settings.patterns, Pattern::around);
  if (!around_alone_boxes) return plan_patterns(shape, suited(order, settings), mill, settings);
  PlanSettings others = settings;
  std::erase(others.patterns, Pattern::around);
  saw::Planned best;
  if (!others.patterns.empty() && !only_cross_cut(others)) {
    best = plan_patterns(shape, suited(order, others), mill, others);
  }
  PlanSettings around = settings;
  std::erase_if(around.patterns, [](Pattern pattern) {
    return pattern != Pattern::around && pattern != Pattern::cross_cut;
  });
  PlanSettings with_hearts = around;
  with_hearts.patterns.push_back(Pattern::boxed_heart);
  return saw::better_of(std::move(best),
                        plan_patterns(shape, suited(order, with_hearts), mill, around), settings);
}

/// Those of the patterns that have a bound.
std::vector<Pattern> bounded_among(const PlanSettings& settings, const Order& order) {
  std::vector<Pattern> patterns = uncut_patterns(settings, order);
  if (only_cross_cut(settings)) return {};
  std::erase_if(patterns, [](Pattern pattern) { return !is_bounded(pattern); });
  return patterns;
}

/// The best plan; where a gap is asked for and only some of the ways have a bound, these are
/// planned once more by themselves for it.
saw::Planned best_with_bound(const LogShape& shape, const Order& order, const Mill& mill,
                             const PlanSettings& settings) {
  PlanSettings bounded = settings;
  bounded.patterns = bounded_among(settings, order);
  if (!settings.gap || bounded.patterns.empty() || are_bounded(settings.patterns)) {
    return best_plan(shape, order, mill, settings);
  }
  PlanSettings all = settings;
  all.watch = settings.watch.within(time_before_proof);
  saw::Planned best = best_plan(shape, order, mill, all);
  if (best.plan.boards.empty() || settings.watch.stopped()) return best;
  const saw::Planned proven = best_plan(shape, order, mill, bounded);
  best = saw::better_of(std::move(best), proven, settings);
  best.bound = proven.bound;
  best.bound_patterns = proven.bound_patterns;
  best.bound_lift = proven.bound_lift;
  return best;
}

/// @param of_all whether the bound is one for all ways that were searched
SawPlan told(saw::Planned planned, bool of_all) {
  if (!planned.draws.empty()) {
    planned.plan.totals.expected = saw::mean(planned.draws);
    planned.plan.totals.q10 = saw::quantile(planned.draws, 0.1);
  }
  if (planned.bound) {
    // What lanes that lean bring is not bounded, but this plan is known.
    if (of_all) planned.plan.totals.bound = std::max(*planned.bound, planned.plan.totals.net);
    if (!of_all) planned.plan.totals.bound_of_ways = planned.bound;
    planned.plan.totals.bound_lift = planned.bound_lift;
    std::string& names = planned.plan.totals.bound_patterns;
    for (const Pattern pattern : planned.bound_patterns) {
      names.append(names.empty() ? "" : ", ").append(pattern_name(pattern));
    }
  }
  return std::move(planned.plan);
}

/// The order without figure that this log does not have: it would only loosen the bounds.
Order with_figure_of(Order order, const LogShape& shape) {
  const auto& zones = shape.marks.figure;
  for (Product& product : order.products) {
    std::erase_if(product.figure, [&](const auto& priced) {
      return std::none_of(zones.begin(), zones.end(),
                          [&](const FigureZone& zone) { return zone.name == priced.first; });
    });
  }
  return order;
}

std::string whole_mm(double x) { return std::to_string(std::lround(x)); }

std::string nothing_fits(const LogShape& shape, const Order& order, const Mill& mill,
                         const PlanSettings& settings) {
  const auto& smallest = *std::min_element(order.products.begin(), order.products.end(),
                                           [&](const Product& a, const Product& b) {
                                             const bool asked = suits(settings, a);
                                             if (asked != suits(settings, b)) return asked;
                                             return a.thickness * a.width < b.thickness * b.width;
                                           });
  std::string sentence =
      "No product of the order comes out of this log of " + whole_mm(shape.length()) +
      " mm: the smallest, '" + smallest.name + "' of " + whole_mm(smallest.thickness) + " x " +
      whole_mm(smallest.width) + " x " +
      whole_mm(*std::min_element(smallest.lengths.begin(), smallest.lengths.end())) +
      " mm, does not fit";
  if (mill.hourly_rate > 0.0) sentence += " or fetches less than it costs to saw";
  return sentence + "; give a smaller or shorter product.";
}

/// What a log that can be sawn otherwise lacks for a pattern.
std::string lacks_for(Pattern pattern) {
  switch (pattern) {
    case Pattern::cant:
      return "no width of the order lies between the sawn faces of a cant";
    case Pattern::boxed_heart:
      return "no piece that boxes the heart holds the pith with wood about it";
    case Pattern::quarter:
      return "no quarter of it holds a product";
    case Pattern::around:
      return "no two of its sides that are square to each other hold a product each";
    case Pattern::cross_cut:
      return "no part of it that is worth cutting off holds a product";
    default:
      return "no flitch of it holds a product";
  }
}

/// Whether sawing through and through gives anything, looked at coarsely.
bool can_be_sawn(const LogShape& shape, const Order& order, const Mill& mill) {
  PlanSettings coarse;
  coarse.turn_step = 15.0;
  coarse.lifts = 1;
  coarse.patterns = {Pattern::live};
  return !best_plan(shape, order, mill, coarse).plan.boards.empty();
}

std::string not_so(const PlanSettings& settings) {
  std::string names, lacks;
  for (const Pattern pattern : settings.patterns) {
    names += (names.empty() ? "" : ", ") + std::string(pattern_name(pattern));
    lacks += (lacks.empty() ? "" : ", ") + lacks_for(pattern);
  }
  return "The log can be sawn, but not " + pattern_words(names) + ": " + lacks +
         "; leave the pattern out or give smaller products.";
}

}  // namespace

namespace saw {

std::optional<SawPlan> plan_if_any(const LogShape& shape, const Order& wished, const Mill& mill,
                                   const PlanSettings& settings) {
  check(shape, settings);
  const Order order = green_order(wished, mill);
  refuse_patterns_without_product(settings, order);
  refuse_log_beyond_mill(shape, order, mill);
  refuse_worthless_pieces(order, mill);
  const int threads_before = omp_get_max_threads();
  if (settings.threads > 0) omp_set_num_threads(settings.threads);
  SawPlan plan = told(best_with_bound(shape, with_figure_of(order, shape), mill, settings),
                      are_bounded(settings.patterns));
  plan.order = order;
  omp_set_num_threads(threads_before);
  if (plan.boards.empty()) return std::nullopt;
  return plan;
}

}  // namespace saw

SawPlan plan_log(const LogShape& shape, const Order& order, const Mill& mill,
                 const PlanSettings& settings) {
  if (auto plan = saw::plan_if_any(shape, order, mill, settings)) return std::move(*plan);
  if (settings.watch.stopped()) {
    throw UserError(Fault::interrupted,
                    "Stopped before any plan was found; nothing was written. Give it more time.");
  }
  const Order green = green_order(order, mill);
  const bool otherwise = !settings.patterns.empty() && can_be_sawn(shape, green, mill);
  throw UserError(Fault::no_product_fits,
                  otherwise ? not_so(settings) : nothing_fits(shape, green, mill, settings));
}

}  // namespace kerfwright
