#include <algorithm>
#include <map>

#include "board_fits.hpp"
#include "flitch_view.hpp"
#include "html.hpp"
#include "look.hpp"
#include "sheet_parts.hpp"
#include "tables.hpp"

namespace kerfwright::sheet {
namespace {

using html::element;
using html::strong;
using html::tick;

constexpr double figure_width = 76.0;  // mm of paper, shown as wide as the page allows

/// The told distances, where the tape lies.
std::vector<Mark> tape_marks(const Subject& subject, const FlitchSteps& steps,
                             const Flitch& flitch) {
  const FlatFlitch flat = flatten(subject, flitch);
  std::vector<Mark> marks;
  for (const Lane& lane : steps.lanes) {
    if (lane.side != Lane::Side::line) continue;
    for (const TapePoint& point : lane.line) {
      const double x = flat.extent.low.x() + point.place;
      const auto edge = far_edge(flat, x);
      if (edge) marks.push_back({{x, *edge + point.distance}, point.distance});
    }
  }
  return marks;
}

std::string figure_of(const Subject& subject, const FlitchSteps& steps, const Flitch& flitch) {
  std::vector<Length> lengths;
  for (const Lane& lane : steps.lanes) {
    lengths.insert(lengths.end(), lane.boards.begin(), lane.boards.end());
  }
  const Figure figure = flitch_view(subject, flitch, tape_marks(subject, steps, flitch), lengths);
  double scale = 1.0;
  while (figure.size(scale).x() > figure_width && scale < 400.0) scale *= 1.02;
  Svg svg;
  figure.draw(svg, {0.5, 0}, scale);
  const Point size = figure.size(scale);
  std::string text = "<svg class=\"figure\" role=\"img\" aria-label=\"Flitch ";
  text.append(xml_text(flitch.letter)).append("\" viewBox=\"0 0 ");
  text.append(paper(figure_width + 1.0)).append(" ").append(paper(size.y() + 1.0));
  return text.append("\">\n").append(svg.body()).append("</svg>\n");
}

std::string tape_text(const TapePoint& point, const Lengths& lengths) {
  return strong("distance", lengths.text(point.distance)) +
         (lengths.inches() ? " inwards at " : " in at ") +
         strong("place", lengths.text(point.place));
}

std::string rips_text(const Lane& lane) {
  if (lane.rips.empty()) return "";
  return lane.rips.size() == 1 ? " (cut " + std::to_string(lane.rips[0]) + ")"
                               : " (cuts " + runs(lane.rips) + ")";
}

std::string wide_text(const Lane& lane, const Lengths& lengths) {
  return strong("wide", lengths.text(lane.width));
}

std::string lane_text(const Lane& lane, const Lengths& lengths) {
  switch (lane.side) {
    case Lane::Side::line:
      return "Strike a line " + tape_text(lane.line[0], lengths) + " and " +
             tape_text(lane.line[1], lengths) +
             " from the butt end. Saw along it and leave the line; then rip " +
             wide_text(lane, lengths) + " wide";
    case Lane::Side::next:
      return "From the edge just sawn rip " + wide_text(lane, lengths) + " more";
    case Lane::Side::next_far:
      return "From the edge just sawn rip " + wide_text(lane, lengths) +
             " more, towards the far edge";
    case Lane::Side::far_face:
      return "The far edge is sawn: " + wide_text(lane, lengths) + " wide from there";
    case Lane::Side::near_face:
      return "The near edge is sawn: " + wide_text(lane, lengths) + " wide from there";
    case Lane::Side::live:
      return "Keep both natural edges and only cut it to length; " + wide_text(lane, lengths) +
             " wide in the mean";
  }
  return "";
}

/// Boards of a lane that are not finished yet.
std::vector<int> boards_to_come(const Lane& lane, const std::vector<int>& there) {
  std::vector<int> boards;
  for (const Length& length : lane.boards) {
    if (std::find(there.begin(), there.end(), length.board) == there.end()) {
      boards.push_back(length.board);
    }
  }
  return boards;
}

std::string lane_words(const Lane& lane, int done, const Lengths& lengths) {
  if (!lane.rips.empty() && lane.rips.back() <= done) {
    return "Ripped already, " + wide_text(lane, lengths) + " wide; cut it to length";
  }
  return lane_text(lane, lengths) + rips_text(lane);
}

std::string flitch_item(const Subject& subject, const FlitchSteps& steps, const Flitch& flitch) {
  const std::vector<int> there = boards_there(subject.plan);
  const Lengths lengths(subject.plan.mill);
  std::string text = "<section class=\"flitch\" id=\"flitch-" + xml_text(steps.letter) + "\">\n";
  std::string title = strong("letter", xml_text(steps.letter)) + " " +
                      lengths.text(steps.thickness, 0.5) + " thick";
  if (steps.cut) title += ", from cut " + std::to_string(*steps.cut);
  text += element("h3", "", title) + "\n" + figure_of(subject, steps, flitch) +
          "<ol class=\"lanes\">\n";
  for (const Lane& lane : steps.lanes) {
    const std::vector<int> boards = boards_to_come(lane, there);
    if (boards.empty()) continue;
    const std::string gives = boards.size() == 1 ? "board " : "boards ";
    text += "<li class=\"lane\">" +
            tick(lane_words(lane, subject.plan.done, lengths) + ": " + gives +
                 strong("", runs(boards)) + ".") +
            "</li>\n";
  }
  return text + "</ol>\n</section>\n";
}

/// A flitch that is cut across before its parts are edged.
std::string across_item(const std::vector<FlitchSteps>& all, std::size_t at,
                        const Lengths& lengths) {
  const FlitchSteps& first = all[at];
  std::string title =
      strong("letter", xml_text(first.whole)) + " " + lengths.text(first.thickness, 0.5) + " thick";
  if (first.cut) title += ", from cut " + std::to_string(*first.cut);
  std::string text = "<section class=\"across\">\n" + element("h3", "", title) + "\n<ol>\n";
  for (std::size_t i = 0; i < first.across.size(); ++i) {
    const AcrossCut& cut = first.across[i];
    text += "<li>" +
            tick("Before you edge it cut it across, square to its length, the middle of the cut " +
                 strong("place", lengths.text(cut.place)) + " from its butt end (cut " +
                 strong("n", std::to_string(cut.n)) + "): " + xml_text(all[at + i].letter) +
                 " lies towards the butt, " + xml_text(all[at + i + 1].letter) + " beyond.") +
            "</li>\n";
  }
  return text + "</ol>\n</section>\n";
}

/// Where a board begins. Nobody can saw off less than the saw is wide: that is squaring an end.
std::string start_of(const Length& length, const Mill& mill) {
  if (!length.cut_from) return strong("from", "log’s end");
  const std::string from = strong("from", Lengths(mill).number(length.from));
  return length.from < mill.kerf ? from + " <small>square the end</small>" : from;
}

std::string crosscut_rows(const SawPlan& plan, const FlitchSteps& flitch) {
  const std::vector<int> there = boards_there(plan);
  const Lengths lengths(plan.mill);
  std::string text;
  for (const Lane& lane : flitch.lanes) {
    for (const Length& length : lane.boards) {
      if (std::find(there.begin(), there.end(), length.board) != there.end()) continue;
      const auto board = std::find_if(plan.boards.begin(), plan.boards.end(),
                                      [&](const Board& b) { return b.id == length.board; });
      text += "<tr class=\"length\"><td>" + strong("letter", xml_text(flitch.letter)) +
              "</td><td class=\"board\">" + std::to_string(length.board) + "</td><td>" +
              xml_text(board->product) + "</td><td>" + start_of(length, plan.mill) +
              "</td><td class=\"long\">" +
              lengths.number(lengths.inches() ? length.to - length.from : board->length) +
              "</td><td>" + (length.cut_to ? lengths.number(length.to) : "log’s end") +
              "</td></tr>\n";
    }
  }
  return text;
}

std::string crosscut_list(const Steps& steps) {
  const Lengths lengths(steps.told->sawn.mill);
  std::string text = "<section class=\"lengths\">\n<h2>Cross-cut list</h2>\n";
  text += element(
      "p", "rule",
      "From the butt end of the flitch, at the board's far edge, in " + lengths.units() +
          ". Mark the lengths before you rip, and cut square to the ripped edge. The "
          "saw takes its width beyond each mark. Where an end is to be squared, less than its "
          "width comes off: let it run half in the air.");
  text +=
      "\n<table>\n<thead><tr><th>Flitch</th><th>Board</th><th>Product</th><th>Start</th>"
      "<th>Long</th><th>End</th></tr></thead>\n";
  for (const FlitchSteps& flitch : steps.steps.flitches) {
    text += crosscut_rows(steps.told->sawn, flitch);
  }
  return text + "</table>\n</section>\n";
}

std::string sized(const Board& board, const SawPlan& plan) {
  const Lengths lengths(plan.mill);
  if (lengths.inches()) return look::size_text(board, plan);
  const bool live = is_slab(board, plan.order);  // told as the edging list tells it
  return lengths.number(board.thickness, 0.5) + " × " +
         lengths.number(board.width, live ? 1.0 : 0.5) + " × " + lengths.number(board.length);
}

/// Boards of one section lie together, the longest first.
std::string stack_list(const SawPlan& plan) {
  const Lengths lengths(plan.mill);
  std::map<std::tuple<double, double, double, std::string>, std::vector<const Board*>> lots;
  for (const Board& board : plan.boards) {
    lots[{-board.thickness, -board.width, -board.length, board.product}].push_back(&board);
  }
  std::string text =
      "<section class=\"stack\">\n<h2>The stack at the end</h2>\n<table>\n"
      "<thead><tr><th></th><th>Pieces</th><th>" +
      lengths.unit() + "</th><th>Product</th><th>Boards</th></tr></thead>\n";
  for (const auto& [key, boards] : lots) {
    std::vector<int> ids;
    for (const Board* board : boards) ids.push_back(board->id);
    text += "<tr><td><input type=\"checkbox\"/></td><td>" + std::to_string(ids.size()) +
            "</td><td>" + sized(*boards.front(), plan) + "</td><td>" +
            xml_text(boards.front()->product) + "</td><td>" + runs(ids) + "</td></tr>\n";
  }
  text += "</table>\n";
  text +=
      element("p", "rule",
              "Long ones below. Stickers straight above each other, no further apart than " +
                  std::string(lengths.inches() ? "24 in" : "600 mm") +
                  ", one at each end; weight on top, shade and wind. Lift with two. Lumber that "
                  "carries load must be graded by someone entitled to, after the local code.");
  return text + "\n</section>\n";
}

}  // namespace

std::string bench_part(const Steps& steps, const LogShape& shape) {
  const SawPlan& plan = steps.told->sawn;
  const Subject subject{plan, shape, steps.flitches, frame_of(main_setup(plan), shape.length())};
  std::string text = "<section class=\"edging\">\n<h2>Edging list</h2>\n";
  text +=
      element("p", "rule",
              "Lay each flitch with its narrow face up and its butt end to your left. "
              "Distances are from its far edge, in wood, without bark, to the board. A flitch "
              "that is cut across first has parts with numbers, each a flitch of its own. A saw "
              "that edges throws back: stand beside it.");
  text += "\n";
  for (std::size_t i = 0; i < steps.flitches.size(); ++i) {
    const auto& cuts = steps.flitches[i].cuts;
    const auto& across = steps.steps.flitches[i].across;
    if (!across.empty() && across.back().n > plan.done) {
      text += across_item(steps.steps.flitches, i, Lengths(plan.mill));
    }
    if (cuts.empty() || cuts.back()->n <= plan.done) continue;
    text += flitch_item(subject, steps.steps.flitches[i], steps.flitches[i]);
  }
  return text + "</section>\n" + crosscut_list(steps) + stack_list(plan);
}

}  // namespace kerfwright::sheet
