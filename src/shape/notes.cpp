#include "notes.hpp"

#include <algorithm>
#include <cmath>

#include "kerfwright/shape/measure.hpp"

namespace kerfwright {
namespace {

std::string whole(double value) { return std::to_string(std::lround(value)); }

void note_end(const EndFace& face, const std::string& name, double radius,
              std::vector<std::string>& notes) {
  if (!face.scanned) {
    notes.push_back("The face of the " + name +
                    " was not seen: the log is taken to end where its bark stops.");
  }
  const double left_out = 2.0 * radius * face.slope.norm();
  if (left_out > 8.0) {
    notes.push_back("The " + name + " ends obliquely: up to " + whole(left_out) +
                    " mm beyond where the section is whole were left out of the length.");
  }
}

void note_what_is_poor(const LogShape& shape, std::vector<std::string>& notes) {
  constexpr double least_seen = 0.4;     // of the surface
  constexpr double boards_worth = 15.0;  // mm: two sigmas of more than a thin board
  const LogMeasures measures = measure(shape);
  if (measures.seen_share < least_seen) {
    notes.push_back(
        "Only " + whole(100.0 * measures.seen_share) +
        " % of the surface was seen: scan the log again from both sides before it is planned.");
  }
  if (measures.seen_share < 1.0 && measures.sigma_inferred > boards_worth) {
    notes.push_back("What was not seen is unsure by " + whole(2.0 * measures.sigma_inferred) +
                    " mm: scan the hidden side, or turn the log and scan it again.");
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
