#pragma once

#include <string>

namespace kerfwright {

/// A number in decimal notation with so many digits after the point.
std::string fixed(double value, int decimals);

}  // namespace kerfwright
