#include "kerfwright/saw/replan.hpp"

#include <omp.h>

#include <algorithm>
#include <cmath>
#include <map>
#include <set>

#include "kerfwright/error.hpp"
#include "kerfwright/saw/replay.hpp"
#include "kerfwright/shape/mark_geometry.hpp"
#include "kerfwright/shape/section.hpp"
#include "replan_piece.hpp"
#include "worth.hpp"

namespace kerfwright {
namespace {

using namespace saw;

constexpr double as_good = 1e-6;  // of money

/// How one piece that is left goes on.
struct Way {
  std::vector<Board> boards;
  std::vector<Cut> cuts;
  std::vector<Setup> setups;
  std::string pattern;  ///< empty: that of the old plan
  bool fresh = false;   ///< numbers of its own, else those of the old plan
  bool lies = false;    ///< its piece lies on the mill as the last cut left it
};

/// Whether the blade of a cut comes within reach of metal that is still in its piece.
bool meets_metal(const Cut& cut, const SawnPieces& pieces, const LogShape& shape) {
  const auto sides = pieces.sides_of(cut.piece);
  return std::any_of(shape.marks.metal.begin(), shape.marks.metal.end(), [&](const Metal& metal) {
    const double off = std::abs((metal.place - cut.point).dot(cut.normal));
    return off < metal.reach + 0.5 * cut.kerf &&
           std::all_of(sides.begin(), sides.end(), [&](const SawnSide& side) {
             return side.outward.dot(metal.place) - side.offset <= metal.reach;
           });
  });
}

class Replanner {
 public:
  Replanner(const SawPlan& old, const LogShape& shape, int done, const PlanSettings& settings)
      : old_(old),
        shape_(shape),
        done_(done),
        settings_(settings),
        marks_(shape),
        pieces_(old.cuts) {
    for (const Cut& cut : old.cuts) {
      if (cut.n <= done) sawn_.push_back(cut);
    }
    for (const Cut& cut : sawn_) begun_.insert(cut.setup);
    for (const Board& board : old.boards) last_board_ = std::max(last_board_, board.id);
    find_lying();
  }

  SawPlan plan() {
    const SawnPieces now(sawn_);
    std::vector<Remain> remains = now.remains();
    std::vector<Way> kept;
    for (const Remain& piece : remains) kept.push_back(kept_way(piece.name));
    sort_by_use(remains, kept);
    std::vector<Way> best, old_ways;
    for (std::size_t i = 0; i < remains.size(); ++i) {
      const Way keep = sifted(kept[i], best);
      best.push_back(better(remains[i], kept[i], keep, best));
      old_ways.push_back(sifted(kept[i], old_ways));
    }
    SawPlan as_it_was = merged(old_ways);
    SawPlan found = merged(best);
    const bool gain = found.totals.net > as_it_was.totals.net + as_good;
    return gain ? found : as_it_was;
  }

 private:
  bool is_on_mill(int setup) const {
    const auto found = std::find_if(old_.setups.begin(), old_.setups.end(),
                                    [&](const Setup& made) { return made.n == setup; });
    return found == old_.setups.end() || on_mill(found->kind);
  }

  /// What the last cut on the mill left there, if nothing has sawn it since.
  void find_lying() {
    for (auto cut = sawn_.rbegin(); cut != sawn_.rend(); ++cut) {
      if (!is_on_mill(cut->setup)) continue;
      const auto setup = std::find_if(old_.setups.begin(), old_.setups.end(),
                                      [&](const Setup& made) { return made.n == cut->setup; });
      if (setup == old_.setups.end()) return;
      up_ = setup_up(*setup, shape_.length());
      lying_ = cut->normal.dot(up_) > 0.0 ? cut->below : cut->above;
      lying_setup_ = *setup;
      return;
    }
  }

  /// What lies on the mill first, then what the old plan had most of.
  void sort_by_use(std::vector<Remain>& remains, std::vector<Way>& kept) const {
    std::vector<std::size_t> order;
    for (std::size_t i = 0; i < remains.size(); ++i) order.push_back(i);
    const auto rank = [&](std::size_t i) {
      double value = 0.0;
      for (const Board& board : kept[i].boards) value += board.value;
      if (kept[i].cuts.empty() && !kept[i].boards.empty()) value += 1e12;  // there already
      return remains[i].name == lying_ ? 1e11 : value;
    };
    std::stable_sort(order.begin(), order.end(),
                     [&](std::size_t a, std::size_t b) { return rank(a) > rank(b); });
    std::vector<Remain> sorted;
    std::vector<Way> ways;
    for (const std::size_t i : order) {
      sorted.push_back(remains[i]);
      ways.push_back(kept[i]);
    }
    remains = std::move(sorted);
    kept = std::move(ways);
  }

  /// As the old plan has it.
  Way kept_way(const std::string& piece) const {
    Way way;
    for (const Cut& cut : old_.cuts) {
      if (cut.n > done_ && pieces_.comes_of(cut.piece, piece)) way.cuts.push_back(cut);
    }
    for (const Board& board : old_.boards) {
      if (pieces_.comes_of(board.piece, piece)) way.boards.push_back(board);
    }
    way.setups = old_.setups;
    way.lies = piece == lying_;
    return way;
  }

  /// A way less the cuts that metal forbids, the boards that are not there any more and the cuts
  /// that then serve no board.
  Way sifted(Way way, const std::vector<Way>& others) const {
    std::set<std::string> gone;
    std::vector<Cut> cuts;
    for (const Cut& cut : way.cuts) {
      if (gone.contains(cut.piece) || meets_metal(cut, pieces_, shape_)) {
        gone.insert(cut.above);
        gone.insert(cut.below);
      } else {
        cuts.push_back(cut);
      }
    }
    way.cuts = std::move(cuts);
    while (!way.boards.empty()) {
      const SawPlan plan = merged_with(others, way);  // without what cannot be sold
      const Replay sawn = replay(plan, shape_);
      std::set<int> there;
      for (const Board& board : plan.boards) there.insert(board.id);
      for (const int missing : sawn.missing) there.erase(missing);
      const auto lost =
          std::erase_if(way.boards, [&](const Board& board) { return !there.contains(board.id); });
      if (lost == 0) break;
    }
    std::erase_if(way.cuts, [&](const Cut& cut) {
      return std::none_of(way.boards.begin(), way.boards.end(), [&](const Board& board) {
        return pieces_.comes_of(board.piece, cut.piece);
      });
    });
    return way;
  }

  /// The old way or a new one, whichever is worth more.
  Way better(const Remain& piece, const Way& planned, const Way& kept,
             const std::vector<Way>& others) const {
    const bool waste = planned.boards.empty() && piece.name != lying_;
    const bool whole = planned.cuts.empty() && !planned.boards.empty() &&
                       kept.boards.size() == planned.boards.size();
    if (waste || whole) return kept;
    const SawPlan with_kept = merged_with(others, kept);
    const Order order = still_wanted(others);
    const PieceTask task = task_of(piece, planned, order);
    const auto whole_plan = [&](const SawPlan& plan) {
      return merged_with(others, fresh_way(plan, piece.name));
    };
    const auto replays = [&](const SawPlan& plan) {
      return replay(whole_plan(plan), shape_).complete;
    };
    Way best = kept;
    double net = with_kept.totals.net;
    const auto take = [&](const SawPlan& plan) {
      const double fresh = whole_plan(plan).totals.net;
      if (!(fresh > net + as_good) || !replays(plan)) return false;
      net = fresh;
      best = fresh_way(plan, piece.name);
      return true;
    };
    if (piece.untouched() && piece.name == "log") {
      take_log(order, take);
    } else if (piece.untouched()) {
      const SawPlan plan = plan_of_part(task, replays);
      if (!plan.boards.empty()) take(plan);
    } else {
      for (const double inset : paper_insets) {
        bool taken = false;
        bool any = false;
        for (const SawPlan& plan : plans_of_piece(task, inset)) {
          any = true;
          taken = take(plan) || taken;
        }
        if (taken || !any) break;
      }
    }
    return best;
  }

  template <typename Take>
  void take_log(const Order& order, const Take& take) const {
    try {
      take(plan_log(shape_, order, old_.mill, settings_));
    } catch (const UserError& error) {
      if (error.fault() != Fault::no_product_fits) throw;
    }
  }

  PieceTask task_of(const Remain& piece, const Way& planned, const Order& order) const {
    PieceTask task{shape_, order, old_.mill, settings_, piece, {}, {}, {}};
    if (piece.name == lying_) task.up = up_;
    const bool flitch = !planned.boards.empty() &&
                        std::none_of(planned.cuts.begin(), planned.cuts.end(),
                                     [&](const Cut& cut) { return is_on_mill(cut.setup); });
    if (flitch && !piece.untouched()) task.flitch_up = planned.boards.front().up;
    for (const Setup& setup : old_.setups) {
      if (setup.part && pieces_.comes_of(piece.name, setup.part->piece)) task.part = setup.part;
    }
    return task;
  }

  Way fresh_way(const SawPlan& plan, const std::string& piece) const {
    Way way{plan.boards, plan.cuts, plan.setups, plan.pattern, true, piece == lying_};
    return way;
  }

  Order still_wanted(const std::vector<Way>& ways) const {
    Order order = old_.order;
    for (const Way& way : ways) {
      for (const Board& board : way.boards) {
        for (Product& product : order.products) {
          if (product.name == board.product && product.wanted && *product.wanted > 0) {
            --*product.wanted;
          }
        }
      }
    }
    return order;
  }

  SawPlan merged_with(const std::vector<Way>& ways, const Way& more) const {
    std::vector<Way> all = ways;
    all.push_back(more);
    return merged(all);
  }

  /// The cuts that are made and those of the ways, numbered on: first all on the mill, then what
  /// is done by hand.
  SawPlan merged(const std::vector<Way>& ways) const {
    SawPlan plan;
    plan.scan_to_log = old_.scan_to_log;
    plan.order = old_.order;
    plan.mill = old_.mill;
    plan.pattern = old_.pattern;
    plan.done = done_;
    plan.cuts = sawn_;
    for (const Setup& setup : old_.setups) {
      if (begun_.contains(setup.n)) plan.setups.push_back(setup);
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
  void add_cuts(const Way& way, int number, std::vector<Cut>& cuts,
                std::vector<Setup>& setups) const {
    constexpr int apart = 1000000;
    std::map<int, int> provisional;
    for (Cut cut : way.cuts) {
      const auto setup = std::find_if(way.setups.begin(), way.setups.end(),
                                      [&](const Setup& made) { return made.n == cut.setup; });
      if (setup == way.setups.end()) continue;
      if (!provisional.contains(cut.setup)) {
        int other = way.fresh ? number * apart + cut.setup : apart - 1 - cut.setup;
        if (!way.fresh && begun_.contains(cut.setup)) other = cut.setup;
        if (way.fresh && way.lies && provisional.empty() && goes_on(*setup)) {
          other = lying_setup_->n;
        }
        provisional[cut.setup] = other;
        const bool known = begun_.contains(other) ||
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
  bool goes_on(const Setup& setup) const {
    return lying_setup_ && on_mill(setup.kind) &&
           setup_up(setup, shape_.length()).dot(up_) > 1.0 - 1e-9 &&
           setup.spacer <= lying_setup_->spacer;
  }

  /// Work by hand in one direction is one setup.
  bool is_one(const Setup& a, const Setup& b) const {
    return !on_mill(a.kind) && a.kind == b.kind &&
           setup_up(a, shape_.length()).dot(setup_up(b, shape_.length())) > 1.0 - 1e-12;
  }

  void number_on(SawPlan& plan, std::vector<Cut> cuts, const std::vector<Setup>& setups) const {
    const SawnPieces pieces(cuts);
    const auto is_hand = [&](const Cut& cut) {
      const auto found = std::find_if(setups.begin(), setups.end(),
                                      [&](const Setup& made) { return made.n == cut.setup; });
      return found == setups.end() ? !is_on_mill(cut.setup) : !on_mill(found->kind);
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
      if (!begun_.contains(cut.setup)) {
        if (!numbers.contains(cut.setup)) {
          const Setup& wished = *std::find_if(
              setups.begin(), setups.end(), [&](const Setup& made) { return made.n == cut.setup; });
          const auto shared =
              std::find_if(plan.setups.begin(), plan.setups.end(),
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

  static void add_pattern(std::string& names, const std::string& more) {
    if (more.empty()) return;
    const auto there = patterns_named(names);
    for (const Pattern pattern : patterns_named(more)) {
      if (!is_among(there, pattern)) names += ", " + std::string(pattern_name(pattern));
    }
  }

  /// Minutes of the cuts that are still to be made.
  double minutes_left(const SawPlan& plan) const {
    const SawnPieces pieces(plan.cuts);
    double minutes = 0.0;
    std::set<int> turns;
    for (const Cut& cut : plan.cuts) {
      if (cut.n <= done_) continue;
      minutes += minutes_of(cut, plan, pieces, shape_);
      if (!begun_.contains(cut.setup)) turns.insert(cut.setup);
    }
    for (const Setup& setup : plan.setups) {
      if (turns.contains(setup.n) && on_mill(setup.kind)) minutes += plan.mill.minutes_per_turn;
    }
    return minutes;
  }

  void total(SawPlan& plan) const {
    grade_boards(plan, marks_);
    Totals& totals = plan.totals;
    totals = totals_of(plan.boards, solid_volume_m3(shape_, Bark::off));
    if (!old_minutes_) old_minutes_ = minutes_left(old_);
    totals.hours = std::max(0.0, old_.totals.hours + (minutes_left(plan) - *old_minutes_) / 60.0);
    totals.net = totals.value - totals.hours * plan.mill.hourly_rate;
  }

  const SawPlan& old_;
  const LogShape& shape_;
  int done_;
  const PlanSettings& settings_;
  WoodMarks marks_;
  SawnPieces pieces_;      ///< of the old plan
  std::vector<Cut> sawn_;  ///< cuts that are made
  std::set<int> begun_;    ///< numbers of their setups
  int last_board_ = 0;
  std::string lying_;  ///< the piece that lies on the mill as it was sawn; empty = none
  std::optional<Setup> lying_setup_;
  Eigen::Vector3d up_ = Eigen::Vector3d::UnitZ();
  mutable std::optional<double> old_minutes_;
};

}  // namespace

SawPlan replan(const SawPlan& plan, const LogShape& shape, int done, const PlanSettings& settings) {
  const int last = plan.cuts.empty() ? 0 : plan.cuts.back().n;
  const bool known = done == 0 || std::any_of(plan.cuts.begin(), plan.cuts.end(),
                                              [&](const Cut& cut) { return cut.n == done; });
  if (!known) {
    throw UserError(Fault::usage, "The plan has no cut " + std::to_string(done) +
                                      ": its cuts are numbered up to " + std::to_string(last) +
                                      "; give the number of the last cut that is made.");
  }
  if (done < plan.done) {
    throw UserError(Fault::usage, "Cut " + std::to_string(plan.done) +
                                      " was made when this plan was found; give that number or a "
                                      "later cut.");
  }
  const int threads_before = omp_get_max_threads();
  if (settings.threads > 0) omp_set_num_threads(settings.threads);
  SawPlan found = Replanner(plan, shape, done, settings).plan();
  omp_set_num_threads(threads_before);
  if (found.cuts.empty() || found.cuts.back().n <= done || found.boards.empty()) {
    throw UserError(Fault::no_product_fits,
                    "Nothing is left to saw after cut " + std::to_string(done) +
                        " that any product of the order comes out of: what is off already can "
                        "still be sold as the old sheet has it, where it is sound.");
  }
  if (!replay(found, shape).complete) {
    throw UserError(Fault::plan_does_not_replay,
                    "What is left after cut " + std::to_string(done) +
                        " could not be planned so that every board is there; plan it from the cut "
                        "before.");
  }
  return found;
}

}  // namespace kerfwright
