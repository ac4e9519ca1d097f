// The part of Planner that chooses the plan which still pays when it is set a little wrong.

#include <algorithm>
#include <cmath>
#include <numbers>

#include "free_stack.hpp"
#include "planner.hpp"
#include "saw_again.hpp"
#include "spare.hpp"
#include "steady_stack.hpp"

namespace kerfwright::saw {
namespace {

constexpr double worth_a_try = 0.8;    // of the greatest net, for a plan to be sawn again
constexpr int written_each = 6;        // plans that are written for each whose stack is chosen anew
constexpr int written_all = 12;        // or more, for other turns to be looked at
constexpr double another_pose = 0.03;  // radians by which their turns differ
constexpr std::size_t most_tried = 32;
constexpr std::size_t to_steady = 4;  // of the best plans
constexpr double beside = 1.5;        // degrees to each side at which they are steadied too
// Other draws than those that chose, so that nothing is flattered; so many that a tenth of them is
// known to a per cent of them all.
constexpr int told_draws = 1000;

bool same_cuts(const SawPlan& a, const SawPlan& b) {
  if (a.cuts.size() != b.cuts.size() || a.totals.net != b.totals.net) return false;
  for (std::size_t i = 0; i < a.cuts.size(); ++i) {
    if ((a.cuts[i].point - b.cuts[i].point).norm() > 1e-9) return false;
  }
  return true;
}

/// Best net first, each once.
void keep_worth_trying(std::vector<Candidate>& candidates) {
  std::stable_sort(candidates.begin(), candidates.end(),
                   [](const Candidate& a, const Candidate& b) {
                     return a.written.totals.net > b.written.totals.net;
                   });
  std::vector<Candidate> kept;
  for (Candidate& candidate : candidates) {
    if (kept.size() >= most_tried) break;
    const SawPlan& plan = candidate.written;
    if (!kept.empty() && plan.totals.net < worth_a_try * kept.front().written.totals.net) {
      break;
    }
    if (kept.empty() || !same_cuts(kept.back().written, plan)) kept.push_back(std::move(candidate));
  }
  candidates = std::move(kept);
}

std::vector<const SawPlan*> written_of(const std::vector<Candidate>& candidates) {
  std::vector<const SawPlan*> plans;
  for (const Candidate& candidate : candidates) plans.push_back(&candidate.written);
  return plans;
}

/// Steadier stacks for the best of the plans, and in poses beside theirs.
std::vector<LogPlan> steadied(const SteadyStacks& stacks, const std::vector<Candidate>& candidates,
                              const std::vector<std::size_t>& best_first) {
  std::vector<LogPlan> wished;
  for (const std::size_t k : best_first) {
    if (wished.size() >= 3 * to_steady) break;
    const LogPlan& plan = candidates[k].plan;
    if (plan.split || plan.around) continue;
    const bool known = std::any_of(wished.begin(), wished.end(), [&](const LogPlan& other) {
      const bool same_cant =
          plan.cants.empty()
              ? other.cants.empty()
              : !other.cants.empty() && plan.cants.front().bottom == other.cants.front().bottom;
      return same_cant && plan.pose.roll == other.pose.roll && plan.pose.slope == other.pose.slope;
    });
    if (known) continue;
    wished.push_back(plan);
    for (const double side : {-1.0, 1.0}) {
      LogPlan turned = plan;
      const double turn = side * beside * std::numbers::pi / 180.0;
      turned.pose.roll += turn;
      for (CantPlan& cant : turned.cants) cant.pose.roll += turn;
      wished.push_back(std::move(turned));
    }
  }
  std::vector<LogPlan> plans(wished.size());
#pragma omp parallel for schedule(dynamic, 1)
  for (std::size_t i = 0; i < wished.size(); ++i) plans[i] = stacks.steadied(wished[i]);
  return plans;
}

}  // namespace

void Planner::add_written(const std::vector<LogPlan>& plans, std::vector<Catalogues>& priced,
                          bool square_ends, std::vector<Candidate>& candidates) const {
  for (Catalogues& catalogues : priced) {
    for (const LogPlan& plan : plans) {
      SawPlan written = write(plan, catalogues, square_ends);
      if (counts(written)) candidates.push_back({plan, std::move(written)});
    }
  }
}

/// Chooses the stacks of the best candidates anew, each in another pose, by what the bench gets out
/// of their flitches.
void Planner::add_freely_edged(std::vector<Candidate>& candidates, std::vector<Catalogues>& priced,
                               bool square_ends) const {
  if (space_.watch.stopped()) return;
  std::vector<const Candidate*> best_first;
  for (const Candidate& candidate : candidates) best_first.push_back(&candidate);
  std::stable_sort(best_first.begin(), best_first.end(),
                   [](const Candidate* a, const Candidate* b) {
                     return a->written.totals.net > b->written.totals.net;
                   });
  std::vector<LogPlan> plans;
  const auto most = static_cast<std::size_t>(space_.keep / written_each);
  for (const Candidate* candidate : best_first) {
    if (plans.size() >= most) break;
    const bool known = std::any_of(plans.begin(), plans.end(), [&](const LogPlan& other) {
      return std::abs(candidate->plan.pose.roll - other.pose.roll) < another_pose &&
             candidate->plan.cants.size() == other.cants.size();
    });
    if (!known) plans.push_back(candidate->plan);
  }
  const Catalogue& catalogue = priced.front().all();
  SearchSpace space = space_;
  space.watch = space_.watch.within(0.5);
#pragma omp parallel for schedule(dynamic, 1)
  for (std::size_t i = 0; i < plans.size(); ++i) {
    if (space.watch.stopped()) continue;
    plans[i] = freely_edged(wood_, catalogue, plans[i], space.turn_cost);
  }
  if (is_among(patterns_, Pattern::live) && space.keep >= written_all) {
    double best = 0.0;
    for (const LogPlan& plan : plans) best = std::max(best, plan.worth);
    space.keep /= written_each;
    for (LogPlan& plan : search_free(wood_, catalogue, space, best)) {
      plans.push_back(std::move(plan));
    }
  }
#pragma omp parallel for schedule(dynamic, 1)
  for (std::size_t i = 0; i < plans.size(); ++i) {
    if (space.watch.stopped()) continue;
    plans[i] = in_the_middle_of_its_play(wood_, catalogue, std::move(plans[i]));
  }
  add_written(plans, priced, square_ends, candidates);
}

Planned Planner::sure_plan(const std::vector<LogPlan>& found, std::vector<Catalogues>& priced,
                           const Replays& replays, bool square_ends, std::uint64_t stream) {
  const auto wood_inside = [&](double allowance) {
    return wood_of(shape_, margin_, inset_ + allowance);
  };
  const SettingErrors errors = errors_of(mill_);
  const Draws choosing{2 * stream, 0, draws_};
  const Trier trier{shape_, wood_, priced.back(), errors};
  const Catalogue& catalogue = priced.front().all();
  std::vector<Candidate> candidates;
  add_written(found, priced, square_ends, candidates);
  add_freely_edged(candidates, priced, square_ends);
  SearchSpace space = space_;
  space.must_cant = must_cant();
  const char* const trying = "sawing the best with what goes wrong";
  space.watch.say(trying, 0.0);
  if (!space.watch.stopped()) {
    add_written(plans_with_spare(wood_inside, catalogue, space, found), priced, square_ends,
                candidates);
  }
  if (candidates.empty()) return {};
  keep_worth_trying(candidates);
  if (!space.watch.stopped()) {
    const SteadyStacks stacks(shape_, wood_, catalogue, errors);
    const auto looked = best_at_first_look(trier, written_of(candidates), choosing);
    add_written(steadied(stacks, candidates, looked), priced, square_ends, candidates);
  }
  space.watch.say(trying, 0.5);
  for (const std::size_t k : best_in_the_mean(trier, written_of(candidates), choosing)) {
    if (!replays(candidates[k].written)) {
      best_refused_ = std::max(best_refused_, candidates[k].written.totals.net);
      continue;
    }
    Planned planned{std::move(candidates[k].written), {}};
    tell_draws(planned, priced.back(), stream);
    return planned;
  }
  return {};
}

void Planner::tell_draws(Planned& planned, const Catalogues& full, std::uint64_t stream) const {
  if (planned.plan.boards.empty()) return;
  const Trier trier{shape_, wood_, full, errors_of(mill_)};
  Trials trials = saw_again(trier, {&planned.plan}, {2 * stream + 1, 0, told_draws}).front();
  for (std::size_t b = 0; b < planned.plan.boards.size(); ++b) {
    planned.plan.boards[b].chance = trials.chance[b];
  }
  planned.draws = std::move(trials.net);
}

}  // namespace kerfwright::saw
