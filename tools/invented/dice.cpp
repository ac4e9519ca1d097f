#include "invented/dice.hpp"

#include <cmath>
#include <numbers>

namespace kerfwright {

double Dice::normal() {
  if (has_spare_) {
    has_spare_ = false;
    return spare_;
  }
  const double length = std::sqrt(-2.0 * std::log(1.0 - uniform()));
  const double angle = 2.0 * std::numbers::pi * uniform();
  spare_ = length * std::sin(angle);
  has_spare_ = true;
  return length * std::cos(angle);
}

}  // namespace kerfwright
