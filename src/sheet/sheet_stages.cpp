#include <algorithm>
#include <cmath>

#include "html.hpp"
#include "kerfwright/shape/section.hpp"
#include "kerfwright/trade/amounts.hpp"
#include "look.hpp"
#include "sheet_parts.hpp"
#include "stage_view.hpp"
#include "stage_words.hpp"
#include "tables.hpp"

namespace kerfwright::sheet {
namespace {

using html::element;
using html::list_item;
using html::strong;
using html::tick;

constexpr double heaviest = 1100.0;  // kg/m3, what green wood hardly exceeds (common practice)
constexpr double spacer_step = 0.1;  // mm to which a spacer is told
constexpr double least_hang = 10.0;  // mm that are worth a word

/// Rounded up to tens.
std::string mass_text(double kg, bool inches) {
  return look::rounded(std::ceil((inches ? kg / kg_per_pound : kg) / 10.0) * 10.0) +
         (inches ? " lb" : " kg");
}

std::string carried_text(const Mill& mill) { return Amounts{mill.inches}.mass(mill.max_log_mass); }

/// A turn the shorter way round.
std::string turn_text(double clockwise) {
  const bool other_way = clockwise > 180.0;
  return strong("turn", degrees_text(other_way ? 360.0 - clockwise : clockwise)) +
         (other_way ? " anticlockwise" : " clockwise");
}

bool is_still(double degrees) { return degrees < 0.05 || degrees > 359.95; }

std::string turn_item(const Stage& stage) {
  std::string text = "Turn it until T stands at " + strong("clock", clock_text(stage.roll)) + ", ";
  text += is_still(stage.roll) ? strong("turn", "0°") + ", as it lay when scanned"
                               : turn_text(stage.roll) + " from how it lay when scanned";
  if (stage.turn_on && !is_still(*stage.turn_on)) {
    text += "; that is " + turn_text(*stage.turn_on) + " on from the setup before";
  }
  return list_item(text + ". Clockwise is seen from the butt.");
}

std::string faces_item(const Stage& stage) {
  std::string text;
  for (const SawnFace& face : stage.faces) {
    if (!text.empty()) text += "; ";
    text +=
        "the face of cut " + std::to_string(face.cut) + " " + strong("", facing_words(face.clock));
  }
  if (text.empty()) return text;
  text[0] = 'T';
  return list_item(text + ".");
}

std::string supports_item(const Stage& stage, const Lengths& lengths) {
  if (stage.spacer > 0.0) {
    return list_item("Lay a flat, even board " +
                     strong("spacer", lengths.text(stage.spacer, spacer_step)) +
                     " thick on the bed, and the piece on that, flat on its sawn face, brushed "
                     "clean: without the board the blade does not come low enough. The heights "
                     "count it; if yours is thicker, add what it has more.");
  }
  if (stage.on_face) {
    return list_item("Lay it flat on its sawn face, brushed clean; no blocks under it.");
  }
  std::string text = "Block or crank up its underside: ";
  bool beyond = false;
  for (std::size_t i = 0; i < stage.supports.size(); ++i) {
    const Support& support = stage.supports[i];
    if (i > 0) text += i + 1 == stage.supports.size() ? " and " : ", ";
    text += strong("raise", lengths.text(support.raise)) + " at " +
            strong("bunk", lengths.text(support.place)) + " from its butt end";
    beyond = beyond || support.beyond;
  }
  text += ".";
  if (beyond) {
    text +=
        " It is too short for the bunks: lay two stout beams along the bed, block up on those "
        "and add their thickness to every height.";
  }
  if (stage.hang >= least_hang) {
    text += " It hangs " + lengths.text(stage.hang) + " below the bed at " +
            lengths.text(stage.hang_at) + " from its butt end: see that it clears the mill there.";
  }
  return list_item(text);
}

std::string centre_item(const Stage& stage, const Lengths& lengths) {
  if (stage.kind != SetupKind::log || stage.on_face) return "";
  return list_item(
      "Check: the centre of the butt is now " + strong("", lengths.text(stage.centre_butt)) +
      " above the bed, the centre of the top " + strong("", lengths.text(stage.centre_top)) + ".");
}

/// A slab's flitch has no lane to edge.
bool is_only_cut_to_length(const Part& part, const SawSteps& steps) {
  return std::any_of(steps.flitches.begin(), steps.flitches.end(), [&](const FlitchSteps& flitch) {
    return flitch.letter == part.letter &&
           std::all_of(flitch.lanes.begin(), flitch.lanes.end(),
                       [](const Lane& lane) { return lane.side == Lane::Side::live; });
  });
}

std::string part_name(const Part& part, const SawSteps& steps) {
  const std::string words = part_words(part, steps);
  if (part.kind == Part::Kind::flitch) {
    return "flitch " + strong("letter", part.letter) +
           (is_only_cut_to_length(part, steps) ? ", both natural edges kept, put aside to be cut "
                                                 "to length"
                                               : ", put aside for edging");
  }
  if (part.kind == Part::Kind::board) return strong("", words) + ", ready for the stack";
  return part.kind == Part::Kind::again ? words + ", put aside" : words;
}

std::string thickness_text(const Part& part, const Lengths& lengths) {
  return thickness_words(part, lengths) + " " + lengths.unit();
}

std::string parts_line(const MillCut& cut, const SawSteps& steps, const Lengths& lengths) {
  std::string text = "Off comes " + part_name(cut.off, steps);
  if (cut.off.kind != Part::Kind::rest) text += " (" + thickness_text(cut.off, lengths) + ")";
  if (cut.below.kind != Part::Kind::rest) {
    text += ". Below stays " + part_name(cut.below, steps) + " (" +
            thickness_text(cut.below, lengths) + ")";
  }
  return element("p", "off", text + ".");
}

std::string face_text(const char* name, const FaceWidth& face, const Lengths& lengths) {
  const WidthWords words = width_words(face, lengths);
  return element("span", "at", name + (" " + strong("width", words.width)) + words.within);
}

std::string face_line(const MillCut& cut, const Lengths& lengths) {
  return element("p", "face",
                 "New face, " + lengths.units() + ": " + face_text("butt", cut.face[0], lengths) +
                     " " + face_text("middle", cut.face[1], lengths) + " " +
                     face_text("top", cut.face[2], lengths) + " Cut " + lengths.text(cut.width) +
                     " wide.");
}

std::string cut_item(const MillCut& cut, const Steps& steps, bool crosswise) {
  const Lengths lengths(steps.told->sawn.mill);
  const std::string height = crosswise ? lengths.text(cut.height) : lengths.height_text(cut.height);
  std::string text = "<li class=\"cut\" id=\"cut-" + std::to_string(cut.n) + "\">\n";
  text +=
      tick(element("span", "n", "Cut " + std::to_string(cut.n)) + " " + strong("height", height)) +
      "\n";
  if (crosswise) {
    text += element("p", "off",
                    "From the butt end to the middle of the cut, square to the log at that place. "
                    "Chalk " +
                        strong("", xml_text(cut.below.piece)) + " on the part towards the butt, " +
                        strong("", xml_text(cut.off.piece)) +
                        " on the other, and carry the T over to both sides of the cut.");
  } else {
    text += parts_line(cut, steps.steps, lengths) + "\n" + face_line(cut, lengths);
  }
  return text + "</li>\n";
}

/// Numbers of setups that are missing in the count, since they are work at the bench.
std::string bench_words(const SawSteps& steps, std::size_t index) {
  if (index == 0) return "";
  std::vector<int> missing;
  for (int n = steps.stages[index - 1].setup + 1; n < steps.stages[index].setup; ++n) {
    missing.push_back(n);
  }
  if (missing.empty()) return "";
  return (missing.size() == 1 ? " (setup " : " (setups ") + runs(missing) + ": at the bench)";
}

std::string laying(const Steps& steps, std::size_t index) {
  const Stage& stage = steps.steps.stages[index];
  const Lengths lengths(steps.told->sawn.mill);
  std::string text = "<ul class=\"do\">\n" + turn_item(stage) + faces_item(stage) +
                     supports_item(stage, lengths) + centre_item(stage, lengths);
  if (stage.on_face || stage.kind == SetupKind::cant) {
    text += list_item("Clamp it against the stops, low enough for the last cut.");
  } else {
    text += list_item(
        "Chock it on both sides and clamp it before you let go; never stand where it would roll "
        "to.");
  }
  return text + "</ul>\n";
}

/// How a piece that was moved in the middle of a setup is laid back. Its newest face says more than
/// its underside, of which the model may have changed.
std::string laid_back(const Stage& stage, int done, const Lengths& lengths) {
  if (stage.on_face) return "lay it back flat on its sawn face as it was";
  const MillCut* newest = nullptr;
  for (const MillCut& cut : stage.cuts) {
    if (cut.n <= done && (newest == nullptr || cut.height < newest->height)) newest = &cut;
  }
  return "turn it back until T stands there, and block it up until the face of cut " +
         std::to_string(newest->n) + " lies " + strong("", lengths.height_text(newest->height)) +
         " above the bed at both ends and level across";
}

/// Of a setup whose first cuts are made.
std::string lies_already(const Stage& stage, int done, const Lengths& lengths) {
  return "<ul class=\"do\">\n" +
         list_item("Leave it as it lies since the last cut, with T at " +
                   strong("clock", clock_text(stage.roll)) + ", " +
                   (is_still(stage.roll) ? strong("turn", "0°") : turn_text(stage.roll)) +
                   " from how it lay when scanned.") +
         list_item("Was it moved? Then " + laid_back(stage, done, lengths) + ".") +
         (stage.spacer > 0.0 ? supports_item(stage, lengths) : std::string()) +
         list_item("See that the clamps still hold.") + "</ul>\n";
}

}  // namespace

std::string stage_part(const Steps& steps, const LogShape& shape, std::size_t index) {
  const Stage& stage = steps.steps.stages[index];
  const bool crosswise = steps.groups[index].crosswise;
  std::string text = "<section class=\"stage\" id=\"stage-" + std::to_string(index + 1) + "\">\n";
  const int done = steps.told->sawn.done;
  const bool begun = stage.cuts.front().n <= done;
  const std::string lies = begun ? "goes on after cut " + std::to_string(done)
                                 : lying_words(stage, crosswise) + bench_words(steps.steps, index);
  text +=
      element("h2", "", "Setup " + std::to_string(stage.setup) + " " + element("small", "", lies)) +
      "\n";
  if (!crosswise) {
    const StageSubject subject = stage_subject(steps, shape, index);
    text +=
        "<div class=\"lay\">\n" + clock_figure(stage.roll) +
        (begun ? lies_already(stage, done, Lengths(steps.told->sawn.mill)) : laying(steps, index)) +
        "</div>\n";
    text +=
        "<div class=\"ends\">\n" + stage_figure(subject, 0) + stage_figure(subject, 2) + "</div>\n";
  }
  text += "<ol class=\"cuts\">\n";
  for (const MillCut& cut : stage.cuts) {
    if (cut.n > done) text += cut_item(cut, steps, crosswise);
  }
  return text + "</ol>\n</section>\n";
}

std::string preparation_part(const Steps& steps, const LogShape& shape) {
  const double mass = solid_volume_m3(shape, Bark::on) * heaviest;
  const Mill& mill = steps.told->sawn.mill;
  const Lengths lengths(mill);
  std::string text =
      "<section class=\"before\">\n<h2>Before the first cut</h2>\n<ul class=\"do\">\n";
  // First, since the T would come off with the end.
  text += list_item(
      "Where an end is not square to the log, saw it square at its shortest side, or draw a line "
      "round the log there: all distances count from that place, and boards may end at it.");
  text += list_item(
      "Before you move the log: mark its top on the butt with a plumb line and a T, "
      "or glue on the template. All turns count from there.");
  text += list_item(
      "Look for metal: nails, wire, stones, above all in a yard tree. The scan does "
      "not see it.");
  for (const Metal& metal : shape.marks.metal) {
    text += list_item("Metal was marked " + lengths.text(metal.place.x()) +
                      " from the butt: take it out or saw beside it.");
  }
  text += list_item("It weighs up to " + strong("", mass_text(mass, mill.inches)) +
                    ": lift with a machine or a winch, never stand below it or where it "
                    "can roll" +
                    (mass > mill.max_log_mass
                         ? "; the mill carries " + carried_text(mill) + ", so weigh it first."
                         : "."));
  text += list_item(
      "Eyes, ears, hands and legs guarded; nobody in line with the blade or bar; "
      "never alone.");
  text += "</ul>\n";
  return text + rule_of_heights(lengths) + "\n</section>\n";
}

std::string rule_of_heights(const Lengths& lengths) {
  return element("p", "rule",
                 "<b>Height</b> is from the bed up to the underside of the blade: what stays "
                 "below the cut is that thick. What comes off has its thickness, or three: butt" +
                     std::string(lengths.inches() ? "; middle; " : " / middle / ") +
                     "top. <b>New face</b> is its width in wood, without "
                     "bark. If your tape disagrees by more than the ±, stop sawing and plan again: "
                     "the log is not what the model says.");
}

}  // namespace kerfwright::sheet
