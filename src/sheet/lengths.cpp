#include "lengths.hpp"

#include <cmath>

#include "look.hpp"

namespace kerfwright::sheet {
namespace {

/// How many decimals it takes to write every multiple of a step, at most three.
int decimals_of(double step) {
  int decimals = 0;
  for (double scaled = step; decimals < 3 && std::abs(scaled - std::round(scaled)) > 1e-6;
       scaled *= 10.0) {
    ++decimals;
  }
  return decimals;
}

}  // namespace

std::string Lengths::number(double mm, double step) const {
  return look::rounded(snapped(mm, step), decimals_of(step));
}

std::string Lengths::text(double mm, double step) const {
  return number(mm, step).append(" ").append(unit());
}

double snapped(double mm, double step) { return std::round(mm / step) * step; }

}  // namespace kerfwright::sheet
