#include <algorithm>
#include <set>

#include "html.hpp"
#include "look.hpp"
#include "sheet_parts.hpp"
#include "tables.hpp"

namespace kerfwright::sheet {
namespace {

using html::element;
using html::list_item;
using html::strong;

std::string joined(const std::vector<std::string>& words) {
  std::string text;
  for (const std::string& word : words) text += (text.empty() ? "" : ", ") + strong("letter", word);
  return text;
}

std::string boards_item(const SawPlan& plan) {
  const std::vector<int> there = boards_there(plan);
  if (there.empty()) return "";
  return list_item((there.size() == 1 ? "Board " : "Boards ") + strong("", runs(there)) +
                   (there.size() == 1 ? " is" : " are") + " finished and stay on the stack.");
}

/// What is chalked on flitches that are off: those to be edged, and those that hold nothing now.
std::string flitches_items(const Steps& steps) {
  const SawPlan& plan = steps.told->sawn;
  std::vector<std::string> waiting, waste;
  for (const auto& [piece, letter] : plan.chalked) {
    bool holds = false;
    bool waits = false;
    for (const Flitch& flitch : steps.flitches) {
      if (flitch.off_the_mill() != piece) continue;
      holds = true;
      waits = waits || (!flitch.cuts.empty() && flitch.cuts.back()->n > plan.done);
    }
    if (!holds) waste.push_back(letter);
    if (waits) waiting.push_back(letter);
  }
  std::sort(waiting.begin(), waiting.end());
  std::sort(waste.begin(), waste.end());
  std::string text;
  if (!waiting.empty()) {
    text += list_item((waiting.size() == 1 ? "Flitch " : "Flitches ") + joined(waiting) +
                      ", off already: edge by the list of this sheet, not by the one before. "
                      "Letters stay as they are chalked.");
  }
  if (!waste.empty()) {
    text += list_item((waste.size() == 1 ? "Flitch " : "Flitches ") + joined(waste) +
                      ": nothing of the order is left in it. Put it to the waste.");
  }
  return text;
}

std::string core_items(const std::string& what, const std::vector<Core>& cores,
                       const Lengths& lengths) {
  std::string text;
  for (const Core& core : cores) {
    text += list_item(what + " about the pith is counted with a radius of " +
                      strong("", lengths.text(core.radius_butt)) + " at the butt and " +
                      strong("", lengths.text(core.radius_top)) +
                      " at the top. Does it reach further? Then plan again.");
  }
  return text;
}

/// What was seen in the wood and is counted with.
std::string found_items(const LogShape& shape, const Lengths& lengths) {
  std::string text = core_items("Rot", shape.marks.rot, lengths) +
                     core_items("A hollow", shape.marks.hollow, lengths);
  for (const Knot& knot : shape.marks.knots) {
    if (knot.sound) continue;
    text += list_item("An unsound knot " + strong("", lengths.text(knot.at_bark.x())) +
                      " from the butt is counted with: no new board has it.");
  }
  for (const Split& split : shape.marks.splits) {
    text += list_item(std::string("A split of the ") + (split.from_butt ? "butt" : "top") +
                      " is counted " + strong("", lengths.text(split.depth)) +
                      " deep. Does it run further? Then plan again.");
  }
  for (const Metal& metal : shape.marks.metal) {
    text += list_item("Metal " + strong("", lengths.text(metal.place.x())) +
                      " from the butt: no new cut on this sheet comes within " +
                      lengths.text(metal.reach) + " of it. Take it out if you can.");
  }
  return text;
}

/// What to type where metal is found, in the units of the sheet.
std::string example_of_marks(const Lengths& lengths) {
  const auto length = [&](double mm, double inches) {
    return lengths.inches() ? "\"" + look::rounded(inches, 1) + " in\"" : look::rounded(mm);
  };
  return "[[metal]]\nfrom_butt = " + length(700, 27.5) + "\nclock = 3\ndepth = " + length(60, 2.5) +
         "\nreach = " + length(30, 1.5);
}

}  // namespace

std::string otherwise_part(const SawPlan& plan) {
  const Lengths lengths(plan.mill);
  std::string text =
      "<section class=\"otherwise\">\n<h2>If the wood is not as planned</h2>\n<ul class=\"do\">\n";
  text += list_item(
      "Rot, a nail, a bad knot, or a face off by more than its ±: stop, and write down "
      "the number of the last cut.");
  text += list_item(
      "Measure where it lies: along the log from its butt end; the hour seen from the butt with "
      "the T "
      "as 12; how deep below where the bark was. Of rot and hollows only the radius about the "
      "pith, at "
      "the butt and at the top.");
  text += list_item("Leave the log as it lies, clamped.");
  text += "</ul>\n";
  text += element(
      "p", "",
      "In the folder of this sheet, with what was found in <code>found.toml</code>, or with "
      "<code>--face-widths BUTT,MIDDLE,TOP</code> in its place. N is that last cut: it and all "
      "before it are made, edging too.");
  return text +
         "\n<pre>kerfwright replan . --done N \\\n  --marks found.toml --out after-N</pre>\n" +
         element("p", "",
                 "In <code>found.toml</code> stands, for a nail (<code>[[rot]]</code> has "
                 "<code>butt_radius</code> and <code>top_radius</code>):") +
         "\n<pre>" + example_of_marks(lengths) + "</pre>\n</section>\n";
}

std::string remains_part(const Steps& steps, const LogShape& shape) {
  const SawPlan& plan = steps.told->sawn;
  const Lengths lengths(plan.mill);
  std::string text = "<section class=\"before\">\n<h2>Before you go on</h2>\n<ul class=\"do\">\n";
  text += list_item("Cross out the sheet before this one: its cuts from " +
                    strong("", std::to_string(plan.done + 1)) + " on are not sawn any more.");
  text += boards_item(plan) + flitches_items(steps) + found_items(shape, lengths);
  text += list_item(
      "Where there is one nail there are more: look at every new face before the next cut.");
  text += list_item(
      "Eyes, ears, hands and legs guarded; nobody in line with the blade or bar; never alone.");
  return text + "</ul>\n" + rule_of_heights(lengths) + "\n</section>\n";
}

}  // namespace kerfwright::sheet
