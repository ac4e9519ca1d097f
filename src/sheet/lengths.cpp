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
  std::string text = look::rounded(snapped(mm, step), decimals_of(step));
  if (text.find('.') == std::string::npos) return text;
  text.erase(text.find_last_not_of('0') + 1);
  if (text.back() == '.') text.pop_back();
  return text;
}

std::string Lengths::text(double mm, double step) const {
  return number(mm, step).append(" ").append(unit());
}

double snapped(double mm, double step) { return std::round(mm / step) * step; }

}  // namespace kerfwright::sheet
