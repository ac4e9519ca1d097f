#pragma once

#include "subject.hpp"

namespace kerfwright::sheet {

/// A flitch lying with its narrower face up and its butt end to the left: both faces, edging and
/// cross-cuts with their distances, boards. `subject` and `flitch` must outlive the figure.
Figure flitch_view(const Subject& subject, const Flitch& flitch);

}  // namespace kerfwright::sheet
