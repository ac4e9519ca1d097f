#include "notes.hpp"

#include <algorithm>
#include <cmath>

#include "hidden_part.hpp"
#include "kerfwright/shape/measure.hpp"

namespace kerfwright {
namespace {

std::string whole(double value) { return std::to_string(std::lround(value)); }

void note_end(const EndFace& face, const std::string& name, double radius,
              std::vector<std::string>& notes) {
  if (!face.scanned) {
    notes.push_back(
        "The face of the " + name +
        " was not seen: the log is taken to end where its bark stops. Scan that end again from in "
        "front of it.");
  }
  const double left_out = 2.0 * radius * face.slope.norm();
  if (left_out > 8.0) {
    notes.push_back("The " + name + " ends obliquely: up to " + whole(left_out) +
                    " mm beyond where the section is whole were left out of the length: "
                    "distances count from there.");
  }
}

/// What to scan again, as the end of a sentence.
std::string again(const LogShape& shape) {
  const auto hidden = largest_hidden_part(shape);
  return hidden ? "scan again " + in_words(*hidden) + ", or turn the log so that it shows."
                : "scan the log again, slowly and from nearer.";
}

/// Still a shape, but no plan should stand on it without another scan.
void note_what_is_poor(const LogShape& shape, std::vector<std::string>& notes) {
  constexpr double least_seen = 0.4;     // of the surface
  constexpr double half_seen = 0.5;      // the same
  constexpr double boards_worth = 15.0;  // mm: two sigmas of more than a thin board
  const LogMeasures measures = measure(shape);
  if (measures.seen_share > 0.0 && measures.sigma_seen > boards_worth) {
    notes.push_back(
        "Too poor to plan from: even where the log was seen, its surface is unsure by " +
        whole(2.0 * measures.sigma_seen) +
        " mm; scan the log again, slowly, from nearer and in better light.");
  }
  if (measures.seen_share < least_seen) {
    notes.push_back("Too poor to plan from: only " + whole(100.0 * measures.seen_share) +
                    " % of the surface was seen; " + again(shape));
  } else if (measures.seen_share < 1.0 && measures.sigma_inferred > boards_worth) {
    notes.push_back("Too poor to plan from: what was not seen is unsure by " +
                    whole(2.0 * measures.sigma_inferred) + " mm; " + again(shape));
  } else if (measures.seen_share < half_seen) {
    notes.push_back(
        "Only " + whole(100.0 * measures.seen_share) +
        " % of the surface was seen. The rest is told as that of a whole, round log: of "
        "half a log that lies on its flat side the boards would not be there; " +
        again(shape));
  }
}

}  // namespace

std::vector<std::string> notes_on(const LogShape& shape, const Placement& placement,
                                  const FittedSurface& surface) {
  std::vector<std::string> notes = placement.notes;
  note_end(placement.butt, "butt", placement.spine(0.0)[2], notes);
  note_end(placement.top, "top", placement.spine(placement.length)[2], notes);
  if (surface.layered > 0.01) {
    notes.push_back(
        "In " + whole(std::ceil(100.0 * surface.layered)) +
        " % of the surface the bark folds over itself as seen from the axis: there the wood "
        "nearer to the axis counts.");
  }
  note_what_is_poor(shape, notes);
  return notes;
}

}  // namespace kerfwright
