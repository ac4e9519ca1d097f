#pragma once

#include <optional>
#include <string>

#include "kerfwright/shape/log_shape.hpp"

namespace kerfwright {

/// The largest part of the surface that was not seen, as a person finds it at the log.
struct HiddenPart {
  double clock_from = 0, clock_to = 0;  ///< hours, clockwise seen from the butt; equal = all round
  double from = 0, to = 0;              ///< mm from the butt
};

/// Empty where no such part is wider than an hour of the clock or longer than a tenth of the log.
std::optional<HiddenPart> largest_hidden_part(const LogShape& shape);

/// "the side from 4:30 to 7:30 o'clock (seen from the butt, 12 is up as it lay), from 0 to 2400 mm
/// from the butt"
std::string in_words(const HiddenPart& part);

}  // namespace kerfwright
