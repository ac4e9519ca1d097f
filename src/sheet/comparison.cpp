#include "kerfwright/sheet/comparison.hpp"

#include <algorithm>
#include <functional>
#include <numeric>
#include <set>

#include "comparison_rows.hpp"
#include "json_text.hpp"
#include "kerfwright/saw/pattern.hpp"
#include "kerfwright/trade/inches.hpp"
#include "lengths.hpp"
#include "look.hpp"

namespace kerfwright {

using namespace sheet;

namespace {

constexpr double hardly = 0.005;  // a share by which two ways hardly differ

std::string money(double amount) { return look::rounded(amount, 2); }

/// The way after the best that has a plan, or null.
const Way* next_best(const std::vector<Way>& ways, const std::vector<std::size_t>& order) {
  if (order.size() < 2 || !ways[order[1]].plan) return nullptr;
  return &ways[order[1]];
}

/// What the best way has more or less of than the next.
std::string differences(const WayFigures& best, const WayFigures& next) {
  std::string text;
  const auto add = [&](const std::string& words) {
    if (!text.empty()) text += ", ";
    text += words;
  };
  const double yield = 100.0 * (best.yield - next.yield);
  if (std::abs(yield) >= 1.0) {
    const std::string points = look::rounded(std::abs(yield));
    add(points + (points == "1" ? " point " : " points ") + (yield > 0 ? "more" : "less") +
        " yield");
  }
  const double hours = best.hours - next.hours;
  if (std::abs(hours) >= 0.1) {
    add(look::rounded(std::abs(hours), 1) + (hours > 0 ? " hours more" : " hours less") + " work");
  }
  if (best.turns != next.turns) {
    const int turns = std::abs(best.turns - next.turns);
    add(std::to_string(turns) + (turns == 1 ? " turn " : " turns ") +
        (best.turns > next.turns ? "more" : "fewer"));
  }
  return text;
}

/// Where the next is the surer of the two; else empty.
std::string if_luck_is_bad(const Way& best, const Way& next) {
  const auto &one = best.plan->totals.q10, &other = next.plan->totals.q10;
  if (!one || !other || *other <= *one) return "";
  return " Where luck is bad the next gives more: nine times out of ten over " + money(*other) +
         ", the best over " + money(*one) + ".";
}

struct Column {
  std::string head;
  std::function<std::string(const WayFigures&)> cell;
};

std::string maybe(const std::optional<double>& amount) { return amount ? money(*amount) : "–"; }

std::vector<Column> columns_of(const std::vector<Way>& ways) {
  const Lengths lengths = lengths_of(ways);
  const auto any = [&](std::optional<double> WayFigures::*figure) {
    return std::any_of(ways.begin(), ways.end(),
                       [&](const Way& way) { return way.plan && figures_of(*way.plan).*figure; });
  };
  std::vector<Column> columns;
  // What decides comes first: a phone shows no more.
  if (any(&WayFigures::expected)) {
    columns.push_back({"expected", [](const WayFigures& f) { return maybe(f.expected); }});
    columns.push_back({"9 in 10 over", [](const WayFigures& f) { return maybe(f.q10); }});
  }
  const std::vector<Column> always = {
      {"net", [](const WayFigures& f) { return money(f.net); }},
      {"value", [](const WayFigures& f) { return money(f.value); }},
      {"yield %", [](const WayFigures& f) { return look::rounded(100.0 * f.yield); }},
      {"hours", [](const WayFigures& f) { return look::rounded(f.hours, 1); }},
      {"boards", [](const WayFigures& f) { return std::to_string(f.boards); }},
      {"longest", [lengths](const WayFigures& f) { return lengths.number(f.longest); }},
      {"widest", [lengths](const WayFigures& f) { return lengths.number(f.widest); }},
      {"cuts", [](const WayFigures& f) { return std::to_string(f.cuts); }},
      {"turns", [](const WayFigures& f) { return std::to_string(f.turns); }}};
  columns.insert(columns.end(), always.begin(), always.end());
  if (any(&WayFigures::bound)) {
    columns.push_back({"level lanes at most", [](const WayFigures& f) { return maybe(f.bound); }});
  }
  return columns;
}

/// Characters, not bytes.
std::size_t width_of(const std::string& text) {
  return static_cast<std::size_t>(
      std::count_if(text.begin(), text.end(), [](char c) { return (c & 0xC0) != 0x80; }));
}

std::string padded(const std::string& text, std::size_t width, bool right) {
  const std::string space(width - std::min(width, width_of(text)), ' ');
  return right ? space + text : text + space;
}

}  // namespace

WayFigures figures_of(const SawPlan& plan) {
  WayFigures figures;
  const Totals& totals = plan.totals;
  figures.value = totals.value;
  figures.net = totals.net;
  figures.yield = totals.yield;
  figures.hours = totals.hours;
  figures.expected = totals.expected;
  figures.q10 = totals.q10;
  figures.bound = totals.bound;
  figures.boards = static_cast<int>(plan.boards.size());
  figures.cuts = static_cast<int>(plan.cuts.size());
  for (const Board& board : plan.boards) {
    figures.longest = std::max(figures.longest, board.length);
    figures.widest = std::max(figures.widest, board.width);
  }
  figures.turns =
      static_cast<int>(std::count_if(plan.setups.begin(), plan.setups.end(),
                                     [](const Setup& setup) { return on_mill(setup.kind); }));
  return figures;
}

Rank::Rank(const std::vector<Way>& ways)
    : expected_(std::all_of(ways.begin(), ways.end(), [](const Way& way) {
        return !way.plan || way.plan->totals.expected;
      })) {}

double Rank::operator()(const SawPlan& plan) const {
  return expected_ ? *plan.totals.expected : plan.totals.net;
}

std::vector<std::size_t> ranking(const std::vector<Way>& ways) {
  const Rank rank(ways);
  const auto worth = [&](const Way& way) { return way.plan ? rank(*way.plan) : -1e300; };
  std::vector<std::size_t> order(ways.size());
  std::iota(order.begin(), order.end(), std::size_t{0});
  std::stable_sort(order.begin(), order.end(), [&](std::size_t a, std::size_t b) {
    return worth(ways[a]) > worth(ways[b]) + 1e-9;
  });
  return order;
}

std::string verdict(const std::vector<Way>& ways) {
  const auto order = ranking(ways);
  if (order.empty() || !ways[order.front()].plan) return "None of these ways gives a plan.";
  const Rank rank(ways);
  const Way& best = ways[order.front()];
  const std::string currency = " " + best.plan->order.currency;
  std::string text = "Best: " + best.name + " (sawn " + pattern_words(best.plan->pattern) + "), " +
                     money(rank(*best.plan)) + currency + rank.word();
  const Way* next = next_best(ways, order);
  if (next == nullptr) return text + ".";
  const double more = rank(*best.plan) - rank(*next->plan);
  const std::string other = differences(figures_of(*best.plan), figures_of(*next->plan));
  const bool as_good = more < hardly * rank(*best.plan);
  if (as_good) {
    text += ". The next, " + next->name + ", is worth as good as the same";
  } else {
    text += ", " + money(more) + " more than the next, " + next->name;
  }
  text += other.empty() ? "." : ". The best has " + other + ".";
  return text + if_luck_is_bad(best, *next);
}

std::string comparison_table(const std::vector<Way>& ways) {
  const auto columns = columns_of(ways);
  std::vector<std::vector<std::string>> rows(1, {"way"});
  for (const Column& column : columns) rows[0].push_back(column.head);
  for (const std::size_t at : ranking(ways)) {
    const Way& way = ways[at];
    rows.push_back({way.name});
    if (!way.plan) continue;
    const WayFigures figures = figures_of(*way.plan);
    for (const Column& column : columns) rows.back().push_back(column.cell(figures));
  }
  std::vector<std::size_t> widths(columns.size() + 1, 0);
  for (const auto& row : rows) {
    for (std::size_t i = 0; i < row.size(); ++i) {
      widths[i] = std::max(widths[i], width_of(row[i]));
    }
  }
  std::string text;
  for (const auto& row : rows) {
    std::string line = padded(row[0], widths[0], false);
    for (std::size_t i = 1; i < row.size(); ++i) line += "  " + padded(row[i], widths[i], true);
    if (row.size() == 1) line += "  no plan";
    text += line + "\n";
  }
  // Several ways often have no plan for the same reason.
  std::set<std::string> said;
  for (const Way& way : ways) {
    if (way.plan || !said.insert(way.why_not).second) continue;
    text += way.name + ": " + why_not_words(way, lengths_of(ways)) + "\n";
  }
  return text;
}

std::string comparison_json(const std::vector<Way>& ways) {
  using namespace json_text;
  const auto order = ranking(ways);
  std::vector<std::string> items;
  for (const std::size_t at : order) {
    const Way& way = ways[at];
    std::vector<std::string> members = {member("name", quoted(way.name))};
    if (way.plan) {
      members.push_back(member("folder", quoted(way.folder)));
      for (std::string& figure : sheet::figure_members(*way.plan)) {
        members.push_back(std::move(figure));
      }
    } else {
      members.push_back(member("why_not", quoted(way.why_not)));
    }
    items.push_back(object(members));
  }
  std::vector<std::string> members = {member("ways", lines(items))};
  if (!order.empty() && ways[order.front()].plan) {
    members.push_back(member("best", quoted(ways[order.front()].name)));
  }
  return document(members);
}

namespace sheet {

std::vector<std::string> figure_members(const SawPlan& plan) {
  using namespace json_text;
  const WayFigures f = figures_of(plan);
  std::vector<std::string> members = {member("pattern", quoted(plan.pattern)),
                                      member("value", number(f.value)),
                                      member("net", number(f.net)),
                                      member("currency", quoted(plan.order.currency)),
                                      member("yield", number(f.yield)),
                                      member("boards", std::to_string(f.boards)),
                                      member("longest", number(f.longest)),
                                      member("widest", number(f.widest)),
                                      member("cuts", std::to_string(f.cuts)),
                                      member("turns", std::to_string(f.turns)),
                                      member("hours", number(f.hours))};
  if (f.expected) members.push_back(member("expected", number(*f.expected)));
  if (f.q10) members.push_back(member("q10", number(*f.q10)));
  if (f.bound) members.push_back(member("bound", number(*f.bound)));
  return members;
}

Lengths lengths_of(const std::vector<Way>& ways) {
  const auto order = ranking(ways);
  const bool any = !order.empty() && ways[order.front()].plan;
  return Lengths(any ? ways[order.front()].plan->mill : Mill{});
}

std::string why_not_words(const Way& way, const Lengths& lengths) {
  return lengths.inches() ? sentence_in_inches(way.why_not) : way.why_not;
}

/// For the page: the heads of the table and the cells of each way with a plan, the best first.
std::vector<std::string> comparison_heads(const std::vector<Way>& ways) {
  std::vector<std::string> heads;
  for (const Column& column : columns_of(ways)) heads.push_back(column.head);
  return heads;
}

std::vector<std::string> comparison_cells(const std::vector<Way>& ways, const SawPlan& plan) {
  std::vector<std::string> cells;
  const WayFigures figures = figures_of(plan);
  for (const Column& column : columns_of(ways)) cells.push_back(column.cell(figures));
  return cells;
}

}  // namespace sheet

}  // namespace kerfwright
