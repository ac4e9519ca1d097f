#include <algorithm>
#include <cmath>

#include "kerfwright/shape/measure.hpp"
#include "kerfwright/shape/section.hpp"
#include "kerfwright/trade/amounts.hpp"
#include "kerfwright/trade/inches.hpp"
#include "kerfwright/trade/scaling.hpp"
#include "labels.hpp"
#include "lengths.hpp"
#include "look.hpp"
#include "tables.hpp"

namespace kerfwright::sheet {
namespace {

constexpr double row = 3.9;  // mm from line to line
constexpr double column_gap = 6.0;
constexpr double note_row = 3.5;
constexpr double note_size = 2.8;

struct Fact {
  std::string name, value;
};

std::string bark_text(const LogShape& shape, const Lengths& lengths) {
  if (shape.bark <= 0.0) return "none";
  const std::string butt = lengths.text(bark_at(shape, 0));
  const std::string top = lengths.text(bark_at(shape, shape.stations.size() - 1));
  return butt == top ? butt : butt + " to " + top;
}

/// On a drawing the unit has its small three.
std::string volume_text(const Amounts& amounts, const std::string& text) {
  return amounts.inches ? text : text.substr(0, text.size() - 1) + "³";
}

std::vector<Fact> log_facts(const Subject& subject) {
  const LogMeasures m = measure(subject.shape);
  const Lengths lengths(subject.plan.mill);
  const Amounts amounts{lengths.inches()};
  return {
      {"Length", lengths.text(m.length)},
      {"Ø under bark",
       lengths.list({m.butt.mean_under_bark, m.middle.mean_under_bark, m.top.mean_under_bark}) +
           " " + lengths.unit()},
      {"Bark taken off", bark_text(subject.shape, lengths)},
      {"Sweep", lengths.text(m.sweep) + ", to " + clock_text(30.0 * m.sweep_clock) + " as scanned"},
      {"Volume under bark", volume_text(amounts, amounts.log(m.volume_under_bark))},
      {"Surface seen", look::rounded(100.0 * m.seen_share) + " %"}};
}

std::vector<Fact> plan_facts(const Subject& subject) {
  const SawPlan& plan = subject.plan;
  const std::string currency = " " + plan.order.currency;
  std::vector<Fact> facts = {{"Value", look::rounded(plan.totals.value, 2) + currency},
                             {"Less the sawing", look::rounded(plan.totals.net, 2) + currency}};
  if (plan.totals.bound)
    facts.push_back({"With level lanes at most", look::rounded(*plan.totals.bound, 2) + currency});
  if (plan.totals.expected)
    facts.push_back({"Set a little wrong", look::rounded(*plan.totals.expected, 2) + currency});
  if (plan.totals.q10)
    facts.push_back({"Nine times in ten over", look::rounded(*plan.totals.q10, 2) + currency});
  const Amounts amounts{plan.mill.inches};
  facts.push_back({"Boards", volume_text(amounts, amounts.boards(plan.totals.board_m3,
                                                                 amounts.inches ? 2 : 3)) +
                                 ", " + std::to_string(look::hatches(plan).size()) + " of " +
                                 std::to_string(plan.order.products.size()) + " products"});
  const Lengths lengths(plan.mill);
  const std::string kerf = lengths.inches() ? said_inches(plan.mill.kerf) : paper(plan.mill.kerf);
  facts.push_back({"Pattern", plan.pattern});
  facts.push_back({"Kerf", kerf + " " + lengths.unit()});
  facts.push_back({"Time", look::rounded(plan.totals.hours, 1) + " h"});
  return facts;
}

void draw_fact(Svg& svg, const Point& corner, double width, const Fact& fact) {
  svg.text(corner + Point(0, row - 0.9), fact.name);
  const double room = width - text_width(fact.name, 3.0) - 2.0;
  svg.text(corner + Point(width, row - 0.9), fitted(fact.value, 3.0, room), {3.0, Anchor::end});
}

/// The longest of 10, 20, 50, 100, … mm of log (or so many inches) that is at most `room` mm of
/// paper.
double bar_length(double scale, double room, bool inches) {
  if (inches) {  // 1/4, 1/2, 1, 2, 4, 6, 12, 24, … in
    double longest = 0.25 * mm_per_inch;
    for (double inch = 0.5; inch < 1e5; inch *= inch == 4.0 ? 1.5 : 2.0) {
      if (inch * mm_per_inch / scale <= room) longest = inch * mm_per_inch;
    }
    return longest;
  }
  double length = 1.0;
  for (double decade = 1.0; decade < 1e6; decade *= 10.0) {
    for (const double step : {1.0, 2.0, 5.0}) {
      if (step * decade / scale <= room) length = step * decade;
    }
  }
  return length;
}

void draw_bar(Svg& svg, const Point& corner, double width, const std::string& name, double scale,
              const Lengths& lengths) {
  svg.text(corner + Point(0, row - 0.9), name + " 1:" + paper(scale));
  const double start = 0.42 * width;
  const double length = bar_length(scale, 0.32 * width, lengths.inches());
  const double half = length / scale / 2;
  const Point left = corner + Point(start, row - 1.9);
  svg.rect({left, left + Point(half, 1.0)},
           "fill=\"#1a1a1a\" stroke=\"#1a1a1a\" stroke-width=\"0.2\"");
  svg.rect({left + Point(half, 0), left + Point(2 * half, 1.0)},
           "fill=\"#fff\" stroke=\"#1a1a1a\" stroke-width=\"0.2\"");
  svg.text(corner + Point(width, row - 0.9), lengths.text(length), {3.0, Anchor::end});
}

std::string signs(const Lengths& lengths) {
  std::string text =
      "T: top of the log as it lay when scanned. First cut: the underside of the blade. Dashed "
      "outline: bark the scan did not see. Dashed "
      "board: it ends before this section. Numbers beside the sections: cuts in their order. "
      "Letters: flitches, narrow face up, with the cuts that edge and end them; above them ";
  text += lengths.units() + " from the flitch's outer edge to the board ";
  text += lengths.inches() ? "(edge 1 3/8 to 2: where it begins and ends), below them "
                           : "(edge 34/52: where it begins / ends), below them ";
  return text + lengths.units() + " from the flitch's end.";
}

const char* const cautions =
    "Look for metal before every cut: yard trees hold nails and wire. Chock and clamp the log "
    "before you "
    "stand near it: it rolls, and it is heavier than it looks. Keep clear of the blade; guard "
    "eyes, ears and "
    "hands. Boards that carry load must be graded by someone entitled to.";

}  // namespace

Panel fact_panel(const Subject& subject, const Scales& scales, int columns) {
  auto facts = log_facts(subject);
  for (const Fact& fact : plan_facts(subject)) facts.push_back(fact);
  const auto count = static_cast<std::size_t>(columns);
  const std::size_t rows = (facts.size() + 2 + count - 1) / count;
  const Lengths lengths(subject.plan.mill);
  const auto draw = [facts, scales, rows, columns, lengths](Svg& svg, const Point& corner,
                                                            double width) {
    const double column = (width - column_gap * (columns - 1)) / columns;
    const auto place = [&](std::size_t i) {
      return Point(corner + Point(static_cast<double>(i / rows) * (column + column_gap),
                                  static_cast<double>(i % rows) * row));
    };
    svg.begin("id=\"facts\"");
    for (std::size_t i = 0; i < facts.size(); ++i) draw_fact(svg, place(i), column, facts[i]);
    draw_bar(svg, place(facts.size()), column, "Sections", scales.sections, lengths);
    draw_bar(svg, place(facts.size() + 1), column, "Lengths", scales.lengths, lengths);
    svg.end();
  };
  return {row * static_cast<double>(rows), draw};
}

Panel note_panel(const Subject& subject, double width) {
  const auto meaning = wrapped(signs(Lengths(subject.plan.mill)), note_size, width - 3.0);
  const auto warning = wrapped(cautions, note_size, width - 3.0, true);
  const double height = note_row * static_cast<double>(meaning.size() + warning.size()) + 1.5;
  return {height, [meaning, warning](Svg& svg, const Point& corner, double) {
            svg.begin("id=\"notes\"");
            Point base = corner + Point(0, note_row - 0.8);
            for (const std::string& line : meaning) {
              svg.text(base, line, {note_size});
              base.y() += note_row;
            }
            base.y() += 0.5;
            for (const std::string& line : warning) {
              svg.text(base, line, {note_size, Anchor::start, true});
              base.y() += note_row;
            }
            svg.end();
          }};
}

}  // namespace kerfwright::sheet
