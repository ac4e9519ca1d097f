#include <algorithm>
#include <set>

#include "html.hpp"
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

std::string found_items(const LogShape& shape, const Lengths& lengths) {
  std::string text;
  for (const Metal& metal : shape.marks.metal) {
    text += list_item("Metal " + strong("", lengths.text(metal.place.x())) +
                      " from the butt: no new cut on this sheet comes within " +
                      lengths.text(metal.reach) + " of it. Take it out if you can.");
  }
  return text;
}

}  // namespace

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
