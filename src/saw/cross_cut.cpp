#include "cross_cut.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <map>
#include <numeric>
#include <optional>
#include <set>
#include <string>

#include "kerfwright/saw/replay.hpp"
#include "kerfwright/shape/section.hpp"
#include "part.hpp"
#include "worth.hpp"

namespace kerfwright::saw {
namespace {

constexpr double place_step = 150;  // mm, about, between the places that are tried
constexpr int most_gaps = 16;       // between them
constexpr int most_parts = 3;
constexpr double finest_move = 12;     // mm by which a place is moved at last
constexpr double quick_stations = 50;  // mm between stations of a part for its quick worth
constexpr int quick_angles = 64;
constexpr double full_stations = 12.5;  // mm, and for its plan
constexpr double worth_a_look = 0.97;   // of the uncut log's quick worth, for parts to be planned

double shortest_product(const Order& order) {
  double least = std::numeric_limits<double>::max();
  for (const Product& product : order.products) {
    for (const double length : product.lengths) least = std::min(least, length);
  }
  return least;
}

/// Quick worths of the parts of one log, by their ends in whole mm.
class QuickWorths {
 public:
  QuickWorths(const LogShape& log, const Order& order, const Mill& mill,
              const PlanSettings& settings)
      : log_(log),
        order_(order),
        mill_(mill),
        settings_(settings),
        shortest_(shortest_product(order)),
        length_(static_cast<int>(std::floor(log.length()))) {
    const Planner planner(log, order, mill, settings, 0.0);
    prices_ = planner.prices();
    whole_ = planner.quick_worth(prices_);
  }

  using Ends = std::pair<int, int>;

  double whole() const { return whole_; }
  int length() const { return length_; }

  /// What a part fetches, 0 where no product is short enough; to be asked for by `prepare` before.
  double at(const Ends& ends) const { return too_short(ends) ? 0.0 : known_.at(ends); }

  /// Works out what is not known yet, in parallel.
  void prepare(std::vector<Ends> wanted) {
    std::erase_if(wanted, [&](const Ends& e) { return too_short(e) || known_.contains(e); });
    std::sort(wanted.begin(), wanted.end());
    wanted.erase(std::unique(wanted.begin(), wanted.end()), wanted.end());
    std::vector<double> worth(wanted.size());
#pragma omp parallel for schedule(dynamic, 1)
    for (std::size_t i = 0; i < wanted.size(); ++i) {
      if (!settings_.watch.stopped()) worth[i] = worth_of(wanted[i]);
    }
    for (std::size_t i = 0; i < wanted.size(); ++i) known_[wanted[i]] = worth[i];
  }

  /// What a cross-cut costs, and loading one more part.
  double cut_cost(int place) const {
    const double area = outline_area(section_outline_at(log_, place, Bark::off)) * 1e-6;
    return mill_.hourly_rate / 60.0 *
           (mill_.minutes_per_cut + area / mill_.feed_rate + mill_.minutes_per_turn);
  }

 private:
  bool too_short(const Ends& ends) const { return ends.second - ends.first < shortest_; }

  double worth_of(const Ends& ends) const {
    const auto end = [&](int place) {
      return part_end(log_, place >= length_ ? log_.length() : place, mill_.kerf);
    };
    const Part part =
        part_of(log_, end(ends.first), end(ends.second), quick_stations, quick_angles);
    if (part.shape.stations.empty() || part.shape.length() < shortest_) return 0.0;
    return Planner(part.shape, order_, mill_, settings_, 0.0).quick_worth(prices_);
  }

  const LogShape& log_;
  const Order& order_;
  const Mill& mill_;
  const PlanSettings& settings_;
  double shortest_;
  int length_;
  Prices prices_;
  double whole_ = 0;
  std::map<Ends, double> known_;
};

/// A way to cut, by places in whole mm, the ends of the log among them.
struct Ways {
  double worth = 0;
  std::vector<int> places;
};

double worth_of(const QuickWorths& worths, const std::vector<int>& places) {
  double sum = 0.0;
  for (std::size_t i = 0; i + 1 < places.size(); ++i) {
    sum += worths.at({places[i], places[i + 1]});
    if (i > 0) sum -= worths.cut_cost(places[i]);
  }
  return sum;
}

std::vector<Ways> best_on_grid(QuickWorths& worths) {
  const int gaps = std::clamp(static_cast<int>(worths.length() / place_step), 2, most_gaps);
  std::vector<int> places;
  for (int i = 0; i <= gaps; ++i) places.push_back(worths.length() * i / gaps);
  const std::size_t count = places.size();
  std::vector<QuickWorths::Ends> wanted;
  for (std::size_t i = 0; i < count; ++i) {
    for (std::size_t j = i + 1; j < count; ++j) {
      if (i > 0 || j + 1 < count) wanted.emplace_back(places[i], places[j]);
    }
  }
  worths.prepare(wanted);
  std::vector<std::vector<double>> worth(count, std::vector<double>(count, 0.0));
  std::vector<double> cost;
  for (const int place : places) cost.push_back(worths.cut_cost(place));
  for (const auto& ends : wanted) {
    const auto index = [&](int place) {
      return static_cast<std::size_t>(std::lower_bound(places.begin(), places.end(), place) -
                                      places.begin());
    };
    worth[index(ends.first)][index(ends.second)] = worths.at(ends);
  }
  std::vector<Ways> best;
  for (int parts = 2; parts <= std::min(most_parts, gaps); ++parts) {
    const Partition found = best_partition(worth, cost, parts);
    Ways ways{found.worth, {places.front()}};
    for (const int cut : found.cuts) ways.places.push_back(places[static_cast<std::size_t>(cut)]);
    ways.places.push_back(places.back());
    best.push_back(ways);
  }
  return best;
}

/// Moves one place after another, by less and less, while that pays.
void move_places(QuickWorths& worths, Ways& ways) {
  for (double step = place_step / 2; step >= finest_move; step /= 2) {
    std::vector<std::vector<int>> moved;
    for (std::size_t i = 1; i + 1 < ways.places.size(); ++i) {
      for (const double sign : {-1.0, 1.0}) {
        std::vector<int> places = ways.places;
        places[i] += static_cast<int>(std::lround(sign * step));
        if (places[i] > places[i - 1] && places[i] < places[i + 1]) moved.push_back(places);
      }
    }
    std::vector<QuickWorths::Ends> wanted;
    for (const auto& places : moved) {
      for (std::size_t i = 0; i + 1 < places.size(); ++i) {
        wanted.emplace_back(places[i], places[i + 1]);
      }
    }
    worths.prepare(wanted);
    for (const auto& places : moved) {
      const double worth = worth_of(worths, places);
      if (worth > ways.worth + 1e-9) ways = {worth, places};
    }
  }
}

/// The cross-cuts themselves, from the butt on; names of the parts are p1, p2, p3.
SawPlan cut_apart(const LogShape& log, const Order& order, const Mill& mill,
                  const std::vector<PartEnd>& ends) {
  SawPlan plan;
  plan.order = order;
  plan.mill = mill;
  plan.scan_to_log = log.scan_to_log;
  std::string left = "log";
  for (std::size_t i = 1; i + 1 < ends.size(); ++i) {
    Setup setup = setup_with_up(ends[i].normal, log.length());
    setup.kind = SetupKind::cross_cut;
    setup.n = static_cast<int>(i);
    plan.setups.push_back(setup);
    Cut cut;
    cut.n = cut.setup = setup.n;
    cut.piece = left;
    cut.point = ends[i].point;
    cut.normal = ends[i].normal;
    cut.kerf = mill.kerf;
    cut.below = "p" + std::to_string(i);
    const bool last = i + 2 == ends.size();
    cut.above = last ? "p" + std::to_string(i + 1) : "rest" + std::to_string(i);
    left = cut.above;
    plan.cuts.push_back(cut);
    const double area = outline_area(section_outline_at(log, cut.point.x(), Bark::off));
    plan.totals.hours += (mill.minutes_per_cut + area * 1e-6 / mill.feed_rate) / 60.0;
  }
  return plan;
}

/// Adds what is sawn out of a part, with numbers that follow on.
void add_part(SawPlan& plan, SawPlan part) {
  const int setups = static_cast<int>(plan.setups.size());
  const int cuts = static_cast<int>(plan.cuts.size());
  const int boards = static_cast<int>(plan.boards.size());
  for (Setup& setup : part.setups) {
    setup.n += setups;
    plan.setups.push_back(setup);
  }
  for (Cut& cut : part.cuts) {
    cut.n += cuts;
    cut.setup += setups;
    plan.cuts.push_back(cut);
  }
  for (Board& board : part.boards) {
    board.id += boards;
    plan.boards.push_back(board);
  }
  plan.totals.value += part.totals.value;
  plan.totals.board_m3 += part.totals.board_m3;
  plan.totals.hours += part.totals.hours;
}

void finish(SawPlan& plan, const LogShape& log, const std::vector<SawPlan>& parts) {
  Totals& totals = plan.totals;
  totals.log_m3 = solid_volume_m3(log, Bark::off);
  totals.yield = totals.log_m3 > 0.0 ? totals.board_m3 / totals.log_m3 : 0.0;
  totals.net = totals.value - totals.hours * plan.mill.hourly_rate;
  std::vector<std::string> names;
  for (const SawPlan& part : parts) {
    if (part.boards.empty()) continue;
    for (const Pattern pattern : patterns_named(part.pattern)) {
      const std::string name(pattern_name(pattern));
      if (std::find(names.begin(), names.end(), name) == names.end()) names.push_back(name);
    }
  }
  plan.pattern = pattern_name(Pattern::cross_cut);
  for (const std::string& name : names) plan.pattern += ", " + name;
}

/// Puts what is sawn on the mill, part by part, before all work by hand: so it is done, and so the
/// number of the last cut says how far the log is. A part that goes on the mill once more after
/// work by hand leaves all as it is.
/// @param parting how many setups cut the log apart
void put_mill_first(SawPlan& plan, int parting) {
  std::map<int, bool> by_hand;
  for (const Setup& setup : plan.setups) {
    by_hand[setup.n] = setup.n > parting && !on_mill(setup.kind);
  }
  std::set<std::string> from_hand;
  for (const Cut& cut : plan.cuts) {
    const bool after_hand = from_hand.contains(cut.piece);
    if (after_hand && !by_hand[cut.setup]) return;
    if (after_hand || by_hand[cut.setup]) from_hand.insert({cut.above, cut.below});
  }
  std::stable_partition(plan.setups.begin(), plan.setups.end(),
                        [&](const Setup& setup) { return !by_hand[setup.n]; });
  std::stable_partition(plan.cuts.begin(), plan.cuts.end(),
                        [&](const Cut& cut) { return !by_hand[cut.setup]; });
  std::map<int, int> numbers;
  for (Setup& setup : plan.setups) {
    const int number = static_cast<int>(numbers.size()) + 1;
    numbers[setup.n] = number;
    setup.n = number;
  }
  int n = 0;
  for (Cut& cut : plan.cuts) {
    cut.n = ++n;
    cut.setup = numbers[cut.setup];
  }
}

/// Plans each part in full.
Planned plan_parts(const LogShape& log, const Order& order, const Mill& mill,
                   const PlanSettings& settings, const Ways& ways, const QuickWorths& worths) {
  std::vector<PartEnd> ends;
  for (const int place : ways.places) {
    ends.push_back(part_end(log, place >= worths.length() ? log.length() : place, mill.kerf));
  }
  const std::size_t count = ends.size() - 1;
  std::vector<std::size_t> by_worth(count);
  std::iota(by_worth.begin(), by_worth.end(), std::size_t{0});
  std::stable_sort(by_worth.begin(), by_worth.end(), [&](std::size_t a, std::size_t b) {
    return worths.at({ways.places[a], ways.places[a + 1]}) >
           worths.at({ways.places[b], ways.places[b + 1]});
  });
  std::vector<SawPlan> parts(count);
  std::vector<double> draws;
  const WoodMarks marks(log);
  Order wanted = order;
  double left = static_cast<double>(count);
  for (const std::size_t i : by_worth) {
    const Part part = part_of(log, ends[i], ends[i + 1], full_stations, log.angles);
    if (part.shape.stations.empty() || part.shape.length() < shortest_product(order)) continue;
    const std::string name = "p" + std::to_string(i + 1);
    const SawPlan apart = cut_apart(log, wanted, mill, ends);
    const auto replays = [&](const SawPlan& plan) {
      SawPlan whole = apart;
      add_part(whole, in_log_frame(plan, part, name, log.length()));
      grade_boards(whole, marks);
      return replay(whole, log).complete;
    };
    PlanSettings unheard = settings;  // what a part fetches is no plan of the log
    unheard.watch = settings.watch.within(1.0 / left--);
    unheard.watch.better = {};
    Planned planned = plan_uncut(part.shape, wanted, mill, unheard, replays, false, i + 1);
    if (planned.plan.boards.empty()) continue;
    draws.resize(planned.draws.size(), 0.0);
    for (std::size_t d = 0; d < draws.size(); ++d) draws[d] += planned.draws[d];
    parts[i] = in_log_frame(std::move(planned.plan), part, name, log.length());
    take_off_wanted(wanted, parts[i].boards);
  }
  SawPlan whole = cut_apart(log, order, mill, ends);
  for (const SawPlan& part : parts) add_part(whole, part);
  put_mill_first(whole, static_cast<int>(count) - 1);
  finish(whole, log, parts);
  grade_boards(whole, marks);  // the part knew them by its own sections
  const double apart = cut_apart(log, order, mill, ends).totals.hours * mill.hourly_rate;
  for (double& net : draws) net -= apart;
  return {std::move(whole), std::move(draws)};
}

}  // namespace

Partition best_partition(const std::vector<std::vector<double>>& worth,
                         const std::vector<double>& cut_cost, int parts) {
  constexpr double never = -std::numeric_limits<double>::infinity();
  const std::size_t places = worth.size();
  std::vector<double> best(places, never);
  for (std::size_t j = 1; j < places; ++j) best[j] = worth[0][j];
  std::vector<std::vector<int>> from;
  for (int k = 2; k <= parts; ++k) {
    std::vector<double> next(places, never);
    from.emplace_back(places, -1);
    for (std::size_t j = 2; j < places; ++j) {
      for (std::size_t i = 1; i < j; ++i) {
        const double total = best[i] + worth[i][j] - cut_cost[i];
        if (!(total > next[j])) continue;
        next[j] = total;
        from.back()[j] = static_cast<int>(i);
      }
    }
    best = std::move(next);
  }
  Partition partition{best.back(), {}};
  int at = static_cast<int>(places) - 1;
  for (auto choice = from.rbegin(); choice != from.rend() && at >= 0; ++choice) {
    at = (*choice)[static_cast<std::size_t>(at)];
    partition.cuts.insert(partition.cuts.begin(), at);
  }
  return partition;
}

Planned plan_in_parts(const LogShape& log, const Order& order, const Mill& mill,
                      const PlanSettings& settings, bool must) {
  if (!must && settings.watch.stopped()) return {};
  settings.watch.say("where to cross-cut", 0.0);
  QuickWorths worths(log, order, mill, settings);
  Ways best;
  for (Ways& ways : best_on_grid(worths)) {
    move_places(worths, ways);
    if (ways.worth > best.worth) best = ways;
  }
  if (best.places.empty()) return {};
  if (!must && best.worth < worth_a_look * worths.whole()) return {};
  return plan_parts(log, order, mill, settings, best, worths);
}

}  // namespace kerfwright::saw
