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
#include "replan_merge.hpp"
#include "replan_piece.hpp"
#include "worth.hpp"

namespace kerfwright {
namespace {

using namespace saw;

constexpr double as_good = 1e-6;  // of money

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
      : so_far_(old, shape, done),
        old_(old),
        shape_(shape),
        done_(done),
        settings_(settings),
        pieces_(old.cuts),
        merger_(so_far_) {}

  SawPlan plan() {
    const SawnPieces now(so_far_.sawn);
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
    SawPlan as_it_was = merger_.merged(old_ways);
    SawPlan found = merger_.merged(best);
    const bool gain = found.totals.net > as_it_was.totals.net + as_good;
    return gain ? found : as_it_was;
  }

 private:
  /// What lies on the mill first, then what the old plan had most of.
  void sort_by_use(std::vector<Remain>& remains, std::vector<Way>& kept) const {
    std::vector<std::size_t> order;
    for (std::size_t i = 0; i < remains.size(); ++i) order.push_back(i);
    const auto rank = [&](std::size_t i) {
      double value = 0.0;
      for (const Board& board : kept[i].boards) value += board.value;
      if (kept[i].cuts.empty() && !kept[i].boards.empty()) value += 1e12;  // there already
      return remains[i].name == so_far_.lying ? 1e11 : value;
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
    way.lies = piece == so_far_.lying;
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
    const bool waste = planned.boards.empty() && piece.name != so_far_.lying;
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
    if (piece.name == so_far_.lying) task.up = so_far_.up;
    const bool flitch = !planned.boards.empty() &&
                        std::none_of(planned.cuts.begin(), planned.cuts.end(),
                                     [&](const Cut& cut) { return so_far_.is_on_mill(cut.setup); });
    if (flitch && !piece.untouched()) task.flitch_up = planned.boards.front().up;
    for (const Setup& setup : old_.setups) {
      if (setup.part && pieces_.comes_of(piece.name, setup.part->piece)) task.part = setup.part;
    }
    return task;
  }

  Way fresh_way(const SawPlan& plan, const std::string& piece) const {
    Way way{plan.boards, plan.cuts, plan.setups, plan.pattern, true, piece == so_far_.lying};
    return way;
  }

  Order still_wanted(const std::vector<Way>& ways) const {
    Order order = old_.order;
    for (const Way& way : ways) take_off_wanted(order, way.boards);
    return order;
  }

  SawPlan merged_with(const std::vector<Way>& ways, const Way& more) const {
    std::vector<Way> all = ways;
    all.push_back(more);
    return merger_.merged(all);
  }

  SawnSoFar so_far_;
  const SawPlan& old_;
  const LogShape& shape_;
  int done_;
  const PlanSettings& settings_;
  SawnPieces pieces_;  ///< of the old plan
  Merger merger_;
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
