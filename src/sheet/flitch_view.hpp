#pragma once

#include "subject.hpp"

namespace kerfwright::sheet {

/// How much is written on a flitch: `brief` tells the edging distances in a line of words, which
/// takes less height than drawing them.
enum class Detail { full, brief };

/// A flitch lying with its narrower face up and its butt end to the left: both faces, edging and
/// cross-cuts with their distances, boards. `subject` and `flitch` must outlive the figure.
Figure flitch_view(const Subject& subject, const Flitch& flitch, Detail detail);

}  // namespace kerfwright::sheet
