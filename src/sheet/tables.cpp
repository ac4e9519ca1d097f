#include "tables.hpp"

#include <algorithm>
#include <cmath>
#include <sstream>

#include "labels.hpp"
#include "lengths.hpp"
#include "look.hpp"

namespace kerfwright::sheet {
namespace {

constexpr double row = 3.9;  // mm from line to line
constexpr std::size_t most_rows = 24;
constexpr std::size_t most_setups = 10;

/// Boards of one product, size and value.
struct Lot {
  const Board* board;
  std::vector<int> ids;
};

std::vector<Lot> lots_of(const SawPlan& plan) {
  std::vector<Lot> lots;
  for (const Board& board : plan.boards) {
    const auto same = std::find_if(lots.begin(), lots.end(), [&](const Lot& lot) {
      return lot.board->product == board.product && lot.board->value == board.value &&
             look::size_text(*lot.board, plan) == look::size_text(board, plan);
    });
    if (same == lots.end()) {
      lots.push_back({&board, {board.id}});
    } else {
      same->ids.push_back(board.id);
    }
  }
  return lots;
}

std::string turn_text(double roll) {
  double turn = std::fmod(roll, 360.0);
  if (turn < 0.0) turn += 360.0;
  const double shown = std::round((turn > 180.0 ? 360.0 - turn : turn) * 10.0) / 10.0;
  if (shown == 0.0) return "as it lay when scanned";
  return paper(shown) + (turn > 180.0 ? "° anticlockwise" : "° clockwise");
}

std::string lift_text(const Setup& setup, double length, const Lengths& lengths) {
  std::string text;
  const auto add = [&](double lift, const char* end) {
    if (std::abs(lift) < 0.5) return;
    text.append(text.empty() ? "" : ", ").append(end).append(" ").append(lengths.text(lift));
  };
  if (setup.part) {  // how far its own ends are from lying level
    const double lift = setup_up(setup, length).dot(setup.part->top - setup.part->butt);
    add(std::max(0.0, -lift), "butt");
    add(std::max(0.0, lift), "top");
  } else {
    add(setup.lift_butt, "butt");
    add(setup.lift_top, "top");
  }
  return text.empty() ? "neither end" : text;
}

/// The setups in which the log or a cant lies on the mill, with their cuts.
struct MillSetup {
  Setup setup;
  std::vector<const Cut*> cuts;
};

std::vector<MillSetup> mill_setups(const SawPlan& plan) {
  std::vector<MillSetup> setups;
  for (const Setup& setup : plan.setups) {
    if (!on_mill(setup.kind)) continue;
    MillSetup mill{setup, {}};
    for (const Cut& cut : plan.cuts) {
      if (cut.setup == setup.n) mill.cuts.push_back(&cut);
    }
    setups.push_back(mill);
  }
  return setups;
}

/// Heights of the first cut's underside, as the sheet tells heights, over the centres of butt and
/// top.
std::string opening_text(const MillSetup& mill, double length, const Lengths& lengths) {
  if (mill.cuts.empty()) return "–";
  const Cut& cut = *mill.cuts.front();
  const Eigen::Vector3d up = setup_up(mill.setup, length);
  const auto& part = mill.setup.part;
  const Eigen::Vector3d ends[] = {part ? part->butt : Eigen::Vector3d(0, 0, 0),
                                  part ? part->top : Eigen::Vector3d(length, 0, 0)};
  const double butt = up.dot(cut.point - ends[0]) - cut.kerf / 2;
  const double top = up.dot(cut.point - ends[1]) - cut.kerf / 2;
  return lengths.list({butt, top}) + " " + lengths.unit();
}

struct Column {
  double left;  // share of the width
  const char* name;
};
constexpr Column setup_columns[] = {
    {0.0, "Setup"},       {0.11, "Cuts"},  {0.21, "Turn it, seen from the butt"},
    {0.47, "T comes to"}, {0.59, "Raise"}, {0.73, "First cut over butt / top centre"}};

/// Number of the setup and what lies on the mill.
std::string setup_text(const MillSetup& mill) {
  const Setup& setup = mill.setup;
  std::string text = std::to_string(setup.n) + (setup.part ? ", " + setup.part->piece : "");
  const std::string piece = mill.cuts.empty() ? "log" : mill.cuts.front()->piece;
  for (const char* const name : {"half", "quarter"}) {
    if (piece.find(name) != std::string::npos) return text + ", " + name;
  }
  if (setup.kind == SetupKind::cant) return text + ", cant";
  return setup.part ? text : text + ", log";
}

/// What is to be known before the first setup where the log is cross-cut first.
std::vector<std::string> parting_lines(const Subject& subject) {
  const SawPlan& plan = subject.plan;
  const auto cuts = parting_cuts(plan);
  const Lengths lengths(plan.mill);
  if (cuts.empty()) return {};
  std::string text = "Cross-cut the log first, square to it there:";
  for (const Cut* cut : cuts) {
    text.append(cut == cuts.front() ? " cut " : ", cut ").append(std::to_string(cut->n));
    text.append(" at ").append(lengths.text(cut->point.x()));
  }
  std::vector<std::string> lines = {text + " from the butt."};
  const auto& bunks = plan.mill.bunks;
  const auto last = std::max_element(bunks.begin(), bunks.end());
  std::string shorter;
  for (const Lying& part : lying_parts(plan, subject.shape.length())) {
    if (bunks.empty() || part.to - part.from >= *last) continue;
    shorter.append(shorter.empty() ? "" : ", ").append(part.name);
  }
  if (!shorter.empty()) {
    lines.push_back("Shorter than the rests are apart: " + shorter +
                    "; block up under the far end and clamp.");
  }
  return lines;
}

void draw_setup_row(Svg& svg, const Point& base, double width, const MillSetup& mill, double length,
                    const Lengths& lengths) {
  std::vector<int> numbers;
  for (const Cut* cut : mill.cuts) numbers.push_back(cut->n);
  const double roll = mill.setup.roll;
  const std::string texts[] = {setup_text(mill),
                               runs(numbers),
                               turn_text(roll),
                               clock_text(roll),
                               lift_text(mill.setup, length, lengths),
                               opening_text(mill, length, lengths)};
  for (std::size_t i = 0; i < std::size(setup_columns); ++i) {
    const double next = i + 1 < std::size(setup_columns) ? setup_columns[i + 1].left : 1.0;
    const double room = (next - setup_columns[i].left) * width - 1.0;
    svg.text(base + Point(setup_columns[i].left * width, 0), fitted(texts[i], 3.0, room, i == 2),
             {3.0, Anchor::start, i == 2});
  }
}

void draw_setups(Svg& svg, const Point& corner, double width, const Subject& subject) {
  const auto setups = mill_setups(subject.plan);
  for (const Column& column : setup_columns) {
    svg.text(corner + Point(column.left * width, 3.0), column.name, {2.8});
  }
  svg.line(corner + Point(0, 4.0), corner + Point(width, 4.0), look::rule);
  Point base = corner + Point(0, 4.0 + row - 0.6);
  for (std::size_t i = 0; i < std::min(setups.size(), most_setups); ++i) {
    draw_setup_row(svg, base, width, setups[i], subject.shape.length(), Lengths(subject.plan.mill));
    base.y() += row;
  }
  for (const std::string& line : parting_lines(subject)) {
    svg.text(base, fitted(line, 3.0, width, true), {3.0, Anchor::start, true});
    base.y() += row;
  }
}

void draw_title(Svg& svg, const Point& corner, double width, const Subject& subject) {
  const auto& totals = subject.plan.totals;
  const std::size_t count = subject.plan.boards.size();
  const std::string money = fitted(subject.plan.order.currency, 4.2, 24.0, true);
  const std::string result = look::rounded(totals.value, 2) + " " + money + " · " +
                             std::to_string(count) + (count == 1 ? " board" : " boards") +
                             " · yield " + look::rounded(100.0 * totals.yield, 1) + " %";
  svg.text(corner + Point(0, 5.4), "Cut map", {6.4, Anchor::start, true});
  const double start = text_width("Cut map", 6.4, true) + 2.0;
  const double room = width - start - text_width(result, 4.2, true) - 4.0;
  const int done = subject.plan.done;
  const std::string after = done > 0 ? ", after cut " + std::to_string(done) : "";
  svg.text(corner + Point(start, 5.4), fitted(subject.shape.source.file + after, 4.2, room), {4.2});
  svg.text(corner + Point(width, 5.4), result, {4.2, Anchor::end, true});
}

struct BoardColumns {
  double swatch, product, size, each, total;  // left edges, but right edges for money
};

BoardColumns board_columns(double width) {
  return {0.27 * width, 0.32 * width, 0.56 * width, 0.895 * width, width};
}

double lot_height(const Lot& lot, double width) {
  return row * static_cast<double>(wrapped(runs(lot.ids), 3.0, 0.26 * width, true).size());
}

void draw_lot(Svg& svg, const Point& corner, double width, const Lot& lot, int hatch,
              const SawPlan& plan) {
  const BoardColumns at = board_columns(width);
  const Point base = corner + Point(0, row - 0.9);
  svg.begin("", look::board_title(*lot.board, plan));
  Point line = base;
  for (const std::string& text : wrapped(runs(lot.ids), 3.0, 0.26 * width, true)) {
    svg.text(line, text, {3.0, Anchor::start, true});
    line.y() += row;
  }
  svg.rect({corner + Point(at.swatch, 0.5), corner + Point(at.swatch + 4.6, row - 0.5)},
           look::board(hatch));
  svg.text(base + Point(at.product, 0),
           fitted(lot.board->product, 3.0, at.size - at.product - 1.0));
  svg.text(base + Point(at.size, 0), look::size_text(*lot.board, plan));
  svg.text(base + Point(at.each, 0), look::rounded(lot.board->value, 2), {3.0, Anchor::end});
  const double total = lot.board->value * static_cast<double>(lot.ids.size());
  svg.text(base + Point(at.total, 0), look::rounded(total, 2), {3.0, Anchor::end});
  svg.end();
}

}  // namespace

std::string runs(std::vector<int> numbers) {
  std::sort(numbers.begin(), numbers.end());
  std::string text;
  for (std::size_t i = 0; i < numbers.size();) {
    std::size_t last = i;
    while (last + 1 < numbers.size() && numbers[last + 1] <= numbers[last] + 1) ++last;
    if (!text.empty()) text += ", ";
    text += std::to_string(numbers[i]);
    if (last > i) text.append("–").append(std::to_string(numbers[last]));
    i = last + 1;
  }
  return text;
}

std::string clock_text(double degrees) {
  const long minutes = std::lround(degrees * 2.0 / 5.0) * 5;  // 30 degrees an hour, to five minutes
  const long on_face = ((minutes % 720) + 720) % 720;
  const long hour = on_face / 60 == 0 ? 12 : on_face / 60;
  const long rest = on_face % 60;
  std::string text = std::to_string(hour);
  text.append(rest < 10 ? ":0" : ":").append(std::to_string(rest));
  return text;
}

std::vector<std::string> wrapped(const std::string& text, double size, double width, bool bold) {
  std::istringstream words(text);
  std::vector<std::string> lines(1);
  for (std::string word; words >> word;) {
    const std::string longer = lines.back().empty() ? word : lines.back() + " " + word;
    if (!lines.back().empty() && text_width(longer, size, bold) > width) {
      lines.push_back(word);
    } else {
      lines.back() = longer;
    }
  }
  return lines;
}

Panel heading_panel(const Subject& subject) {
  const auto rows =
      std::min(mill_setups(subject.plan).size(), most_setups) + parting_lines(subject).size();
  return {8.0 + 4.0 + row * static_cast<double>(rows) + 2.0,
          [&subject](Svg& svg, const Point& corner, double width) {
            svg.begin("id=\"heading\"");
            draw_title(svg, corner, width, subject);
            draw_setups(svg, corner + Point(0, 8.0), width, subject);
            svg.end();
          }};
}

Panel board_panel(const Subject& subject, double width) {
  const auto lots = lots_of(subject.plan);
  const std::size_t shown = std::min(lots.size(), most_rows);
  double height = row + 0.4;
  for (std::size_t i = 0; i < shown; ++i) height += lot_height(lots[i], width);
  if (shown < lots.size()) height += row;
  const auto draw = [&subject, lots, shown, width](Svg& svg, const Point& corner, double) {
    const BoardColumns at = board_columns(width);
    const Point base = corner + Point(0, row - 1.2);
    svg.begin("id=\"boards\"");
    svg.text(base, "Boards", {2.8});
    svg.text(base + Point(at.product, 0), "Product", {2.8});
    svg.text(base + Point(at.size, 0), "Size, " + Lengths(subject.plan.mill).unit(), {2.8});
    svg.text(base + Point(at.each, 0), "each", {2.8, Anchor::end});
    svg.text(base + Point(at.total, 0), fitted(subject.plan.order.currency, 2.8, 12.0),
             {2.8, Anchor::end});
    svg.line(corner + Point(0, row), corner + Point(width, row), look::rule);
    const auto hatches = look::hatches(subject.plan);
    Point at_row = corner + Point(0, row + 0.4);
    for (std::size_t i = 0; i < shown; ++i) {
      draw_lot(svg, at_row, width, lots[i], hatches.at(lots[i].board->product), subject.plan);
      at_row.y() += lot_height(lots[i], width);
    }
    if (shown < lots.size()) {
      svg.text(at_row + Point(0, row - 0.9),
               std::to_string(lots.size() - shown) + " more sizes stand in the plan's file");
    }
    svg.end();
  };
  return {height, draw};
}

}  // namespace kerfwright::sheet
