#include "stage_words.hpp"

#include <algorithm>
#include <array>
#include <cmath>

#include "look.hpp"
#include "tables.hpp"

namespace kerfwright::sheet {

std::string degrees_text(double degrees) {
  return look::rounded(degrees, std::abs(degrees - std::round(degrees)) < 0.05 ? 0 : 1) + "°";
}

std::string turn_words(double clockwise) {
  const bool other_way = clockwise > 180.0;
  return degrees_text(other_way ? 360.0 - clockwise : clockwise) +
         (other_way ? " anticlockwise" : " clockwise");
}

std::string facing_words(double clock) {
  constexpr std::array<const char*, 4> sides = {"up", "to the right", "down, on the bed",
                                                "to the left"};
  const double quarter = clock / 90.0;
  const double near = std::round(quarter);
  if (std::abs(quarter - near) < 0.01) return sides[static_cast<std::size_t>(near) % 4];
  return "to " + clock_text(clock);
}

namespace {

/// A cant has two faces that look away from each other; a quarter or a half does not.
bool has_opposite_faces(const Stage& stage) {
  for (const SawnFace& a : stage.faces) {
    for (const SawnFace& b : stage.faces) {
      if (std::abs(std::abs(a.clock - b.clock) - 180.0) < 2.0) return true;
    }
  }
  return false;
}

}  // namespace

std::string lying_words(const Stage& stage, bool crosswise) {
  if (crosswise) return "cut the log to length";
  if (stage.part && stage.piece == *stage.part) return "part " + *stage.part;
  if (!stage.made_by) return "the log";
  const bool cant = stage.kind == SetupKind::cant && has_opposite_faces(stage);
  return (cant ? "the cant that " : "what ") +
         std::string(stage.came_off ? "came off at cut " : "stayed below cut ") +
         std::to_string(*stage.made_by);
}

std::string part_words(const Part& part, const SawSteps& steps) {
  switch (part.kind) {
    case Part::Kind::flitch:
      return "flitch " + part.letter;
    case Part::Kind::board:
      return "board " + std::to_string(*part.board);
    case Part::Kind::rest:
      return "the rest, sawn next";
    case Part::Kind::waste:
      return "a slab, waste";
    case Part::Kind::again:
      break;
  }
  std::vector<int> setups;
  for (const int stage : part.stages) {
    setups.push_back(steps.stages[static_cast<std::size_t>(stage)].setup);
  }
  return "a piece for setup " + runs(setups);
}

std::string thickness_words(const Part& part, const Lengths& lengths) {
  const std::string butt = lengths.number(part.thick[0], 0.5);
  const bool even = std::all_of(part.thick.begin(), part.thick.end(),
                                [&](double thick) { return lengths.number(thick, 0.5) == butt; });
  // A slab that tapers is measured, not set.
  const double step = lengths.inches() ? 1.0 : 0.5;
  return even ? butt : lengths.list({part.thick.begin(), part.thick.end()}, step);
}

WidthWords width_words(const FaceWidth& face, const Lengths& lengths) {
  if (face.width) return {lengths.number(*face.width), " ± " + lengths.number(face.within)};
  if (face.within <= 2.0 * lengths.tape_step()) return {"none", ""};
  return {"0", " to " + lengths.number(face.within)};
}

std::string stage_name(const SawSteps& steps, std::size_t index) {
  int before = 0;
  for (std::size_t i = 0; i < index; ++i) {
    if (steps.stages[i].setup == steps.stages[index].setup) ++before;
  }
  std::string name = "setup-" + std::to_string(steps.stages[index].setup);
  if (before > 0)
    name += before < 26 ? std::string(1, static_cast<char>('a' + before))
                        : "-" + std::to_string(before + 1);
  return name;
}

}  // namespace kerfwright::sheet
