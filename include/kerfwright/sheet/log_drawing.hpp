#pragma once

#include <string>

#include "kerfwright/shape/log_shape.hpp"

namespace kerfwright {

/// A log alone as the text of an SVG file, 1 user unit = 1 mm of paper: from the side and from
/// above, and its sections at butt, middle and top as it lay when scanned, seen from the butt;
/// bark, and dashed where the surface was inferred. Lengths in mm or inches.
std::string log_drawing_svg(const LogShape& shape, const std::string& name, bool inches = false);

}  // namespace kerfwright
