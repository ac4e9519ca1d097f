#pragma once

#include <vector>

#include "emit.hpp"
#include "setting_errors.hpp"

namespace kerfwright::saw {

/// What a plan gave in many sawings, each with errors of its own.
struct Trials {
  std::vector<double> net;     ///< [draw] value less what sawing was planned to cost
  std::vector<double> chance;  ///< [board] share of draws in which it came
};

/// Which sawings: draws `first` … `first + count - 1` of a stream of luck.
struct Draws {
  std::uint64_t stream = 0;
  int first = 0, count = 0;
};

/// What plans are sawn on and how wrong.
struct Trier {
  const LogShape& shape;         ///< what the plans were made for, in its frame
  const Wood& wood;              ///< its cells
  const Catalogues& catalogues;  ///< of the plans' order at full prices
  SettingErrors errors;
};

/// Saws each plan in each draw; all plans meet the same luck in the same draw. The same on any
/// number of threads.
std::vector<Trials> saw_again(const Trier& trier, const std::vector<const SawPlan*>& plans,
                              const Draws& draws);

/// The plans from the best mean to the worst by the first few of the draws; of equal plans the one
/// of the greater net, then the one named first.
std::vector<std::size_t> best_at_first_look(const Trier& trier,
                                            const std::vector<const SawPlan*>& plans,
                                            const Draws& draws);

/// The best at a first look, and the one of the greatest net, from the best to the worst in all
/// draws: first those whose mean is as good as the best by better_in_the_mean, of them the one of
/// the greatest net first, then the others by their means.
std::vector<std::size_t> best_in_the_mean(const Trier& trier,
                                          const std::vector<const SawPlan*>& plans,
                                          const Draws& draws);

}  // namespace kerfwright::saw
