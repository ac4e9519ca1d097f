#include "kerfwright/fixed.hpp"

#include <cstdio>

namespace kerfwright {

std::string fixed(double value, int decimals) {
  char text[352];  // the greatest double has 309 digits before the point
  std::snprintf(text, sizeof text, "%.*f", decimals, value);
  return text;
}

}  // namespace kerfwright
