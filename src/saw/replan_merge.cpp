#include "replan_merge.hpp"

#include <algorithm>
#include <map>

#include "kerfwright/saw/pattern.hpp"
#include "kerfwright/shape/section.hpp"

namespace kerfwright::saw {
namespace {

void add_pattern(std::string& names, const std::string& more) {
  if (more.empty()) return;
  const auto there = patterns_named(names);
  for (const Pattern pattern : patterns_named(more)) {
    if (!is_among(there, pattern)) names += ", " + std::string(pattern_name(pattern));
  }
}

}  // namespace

SawnSoFar::SawnSoFar(const SawPlan& plan, const LogShape& log, int last)
    : old(plan), shape(log), done(last) {
  for (const Cut& cut : old.cuts) {
    if (cut.n <= done) sawn.push_back(cut);
  }
  for (const Cut& cut : sawn) begun.insert(cut.setup);
  // What the last cut on the mill left there, if nothing has sawn it since.
  for (auto cut = sawn.rbegin(); cut != sawn.rend(); ++cut) {
    if (!is_on_mill(cut->setup)) continue;
    const auto setup = std::find_if(old.setups.begin(), old.setups.end(),
                                    [&](const Setup& made) { return made.n == cut->setup; });
    if (setup == old.setups.end()) return;
    up = setup_up(*setup, shape.length());
    lying = cut->normal.dot(up) > 0.0 ? cut->below : cut->above;
    lying_setup = *setup;
    return;
  }
}

bool SawnSoFar::is_on_mill(int setup) const {
  const auto found = std::find_if(old.setups.begin(), old.setups.end(),
                                  [&](const Setup& made) { return made.n == setup; });
  return found == old.setups.end() || on_mill(found->kind);
}

Merger::Merger(const SawnSoFar& so_far)
    : so_far_(so_far), marks_(so_far.shape), old_minutes_(minutes_left(so_far.old)) {
  for (const Board& board : so_far.old.boards) last_board_ = std::max(last_board_, board.id);
}

SawPlan Merger::merged(const std::vector<Way>& ways) const {
  SawPlan plan;
  plan.scan_to_log = so_far_.old.scan_to_log;
  plan.order = so_far_.old.order;
  plan.mill = so_far_.old.mill;
  plan.pattern = so_far_.old.pattern;
  plan.done = so_far_.done;
  plan.cuts = so_far_.sawn;
  for (const Setup& setup : so_far_.old.setups) {
    if (so_far_.begun.contains(setup.n)) plan.setups.push_back(setup);
  }
  int id = last_board_;
  std::vector<Cut> cuts;
  std::vector<Setup> setups;  // by provisional numbers
  for (std::size_t w = 0; w < ways.size(); ++w) {
    for (Board board : ways[w].boards) {
      if (ways[w].fresh) board.id = ++id;
      plan.boards.push_back(board);
    }
    add_cuts(ways[w], static_cast<int>(w) + 1, cuts, setups);
    add_pattern(plan.pattern, ways[w].pattern);
  }
  std::stable_sort(plan.boards.begin(), plan.boards.end(),
                   [](const Board& a, const Board& b) { return a.id < b.id; });
  number_on(plan, std::move(cuts), setups);
  total(plan);
  return plan;
}

/// Cuts with numbers of setups that are those of cuts made, or provisional.
void Merger::add_cuts(const Way& way, int number, std::vector<Cut>& cuts,
                      std::vector<Setup>& setups) const {
  constexpr int apart = 1000000;
  std::map<int, int> provisional;
  for (Cut cut : way.cuts) {
    const auto setup = std::find_if(way.setups.begin(), way.setups.end(),
                                    [&](const Setup& made) { return made.n == cut.setup; });
    if (setup == way.setups.end()) continue;
    if (!provisional.contains(cut.setup)) {
      int other = way.fresh ? number * apart + cut.setup : apart - 1 - cut.setup;
      if (!way.fresh && so_far_.begun.contains(cut.setup)) other = cut.setup;
      if (way.fresh && way.lies && provisional.empty() && goes_on(*setup)) {
        other = so_far_.lying_setup->n;
      }
      provisional[cut.setup] = other;
      const bool known = so_far_.begun.contains(other) ||
                         std::any_of(setups.begin(), setups.end(),
                                     [&](const Setup& made) { return made.n == other; });
      if (!known) {
        setups.push_back(*setup);
        setups.back().n = other;
      }
    }
    cut.setup = provisional[cut.setup];
    cuts.push_back(cut);
  }
}

/// Whether a setup of what lies on the mill needs no turn.
bool Merger::goes_on(const Setup& setup) const {
  return so_far_.lying_setup && on_mill(setup.kind) &&
         setup_up(setup, so_far_.shape.length()).dot(so_far_.up) > 1.0 - 1e-9 &&
         setup.spacer <= so_far_.lying_setup->spacer;
}

/// Work by hand in one direction is one setup.
bool Merger::is_one(const Setup& a, const Setup& b) const {
  return !on_mill(a.kind) && a.kind == b.kind &&
         setup_up(a, so_far_.shape.length()).dot(setup_up(b, so_far_.shape.length())) > 1.0 - 1e-12;
}

void Merger::number_on(SawPlan& plan, std::vector<Cut> cuts,
                       const std::vector<Setup>& setups) const {
  const SawnPieces pieces(cuts);
  const auto is_hand = [&](const Cut& cut) {
    const auto found = std::find_if(setups.begin(), setups.end(),
                                    [&](const Setup& made) { return made.n == cut.setup; });
    return found == setups.end() ? !so_far_.is_on_mill(cut.setup) : !on_mill(found->kind);
  };
  std::set<std::string> to_mill;  // pieces of which something is sawn on the mill
  for (std::size_t i = cuts.size(); i-- > 0;) {
    const bool leads =
        !is_hand(cuts[i]) || to_mill.contains(cuts[i].above) || to_mill.contains(cuts[i].below);
    if (leads) to_mill.insert(cuts[i].piece);
  }
  std::stable_partition(cuts.begin(), cuts.end(),
                        [&](const Cut& cut) { return to_mill.contains(cut.piece); });
  int last = 0;
  for (const Setup& setup : plan.setups) last = std::max(last, setup.n);
  std::map<int, int> numbers;
  for (Cut& cut : cuts) {
    cut.n = plan.cuts.empty() ? 1 : plan.cuts.back().n + 1;
    if (!so_far_.begun.contains(cut.setup)) {
      if (!numbers.contains(cut.setup)) {
        const Setup& wished = *std::find_if(setups.begin(), setups.end(),
                                            [&](const Setup& made) { return made.n == cut.setup; });
        const auto shared = std::find_if(plan.setups.begin(), plan.setups.end(),
                                         [&](const Setup& other) { return is_one(other, wished); });
        numbers[cut.setup] = shared == plan.setups.end() ? ++last : shared->n;
        if (shared == plan.setups.end()) {
          plan.setups.push_back(wished);
          plan.setups.back().n = last;
        }
      }
      cut.setup = numbers[cut.setup];
    }
    plan.cuts.push_back(cut);
  }
}

/// Minutes of the cuts that are still to be made.
double Merger::minutes_left(const SawPlan& plan) const {
  const SawnPieces pieces(plan.cuts);
  double minutes = 0.0;
  std::set<int> turns;
  for (const Cut& cut : plan.cuts) {
    if (cut.n <= so_far_.done) continue;
    minutes += minutes_of(cut, plan, pieces, so_far_.shape);
    if (!so_far_.begun.contains(cut.setup)) turns.insert(cut.setup);
  }
  for (const Setup& setup : plan.setups) {
    if (turns.contains(setup.n) && on_mill(setup.kind)) minutes += plan.mill.minutes_per_turn;
  }
  return minutes;
}

void Merger::total(SawPlan& plan) const {
  grade_boards(plan, marks_);
  Totals& totals = plan.totals;
  totals = totals_of(plan.boards, solid_volume_m3(so_far_.shape, Bark::off));
  totals.hours =
      std::max(0.0, so_far_.old.totals.hours + (minutes_left(plan) - old_minutes_) / 60.0);
  totals.net = totals.value - totals.hours * plan.mill.hourly_rate;
}

}  // namespace kerfwright::saw
