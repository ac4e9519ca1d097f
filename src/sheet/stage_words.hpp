#pragma once

#include <string>

#include "kerfwright/sheet/saw_steps.hpp"
#include "lengths.hpp"

/// The words of the sheet, without markup.
namespace kerfwright::sheet {

std::string degrees_text(double degrees);

/// "12° anticlockwise": the shorter way round.
std::string turn_words(double clockwise);

/// Where a sawn face looks: "to the right", "down, on the bed", "to 1:30".
std::string facing_words(double clock);

/// What lies on the mill: "the log", "the cant".
std::string lying_words(const Stage& stage, bool crosswise);

/// What a cut leaves: "flitch B", "a slab, waste".
std::string part_words(const Part& part, const SawSteps& steps);

/// "27", or at butt, middle and top "27 / 25 / 5".
std::string thickness_words(const Part& part, const Lengths& lengths);

/// The width of a new face, and how far the tape may be off: "200" and " ± 7". Where the cut misses
/// the wood the words for that: "0" and " to 7", or "none".
struct WidthWords {
  std::string width, within;
};
WidthWords width_words(const FaceWidth& face, const Lengths& lengths);

/// A name for a stage that no other has: "setup-2", "setup-2b".
std::string stage_name(const SawSteps& steps, std::size_t index);

}  // namespace kerfwright::sheet
