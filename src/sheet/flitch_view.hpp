#pragma once

#include "flat_flitch.hpp"

namespace kerfwright::sheet {

/// How much is written on a flitch: `brief` tells the edging distances in a line of words, which
/// takes less height than drawing them.
enum class Detail { full, brief };

/// A flitch lying with its narrower face up and its butt end to the left: both faces, edging and
/// cross-cuts with their distances, boards. `subject` and `flitch` must outlive the figure.
Figure flitch_view(const Subject& subject, const Flitch& flitch, Detail detail);

/// The same as a person is told to saw it: with these distances above it instead of those at the
/// ends of the edging lines, boards' ends where they are told, and without its letter and heading.
Figure flitch_view(const Subject& subject, const Flitch& flitch, const std::vector<Mark>& above,
                   const std::vector<Length>& told);

}  // namespace kerfwright::sheet
