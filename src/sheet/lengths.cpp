#include "lengths.hpp"

#include <cmath>

#include "kerfwright/trade/inches.hpp"
#include "kerfwright/trade/scaling.hpp"
#include "look.hpp"

namespace kerfwright::sheet {
namespace {

constexpr double hair = 0.05;  // mm
const char* const no_break = "\u00a0";

/// How many decimals it takes to write every multiple of a step, at most three.
int decimals_of(double step) {
  int decimals = 0;
  for (double scaled = step; decimals < 3 && std::abs(scaled - std::round(scaled)) > 1e-6;
       scaled *= 10.0) {
    ++decimals;
  }
  return decimals;
}

std::string without_zeros(std::string text) {
  if (text.find('.') == std::string::npos) return text;
  text.erase(text.find_last_not_of('0') + 1);
  if (text.back() == '.') text.pop_back();
  return text;
}

/// A line must not break within "18 1/2 in": what is left would be a length, too.
std::string unbroken(const std::string& text) {
  const std::size_t blank = text.find(' ');
  return blank == std::string::npos ? text
                                    : text.substr(0, blank) + no_break + text.substr(blank + 1);
}

}  // namespace

std::string Lengths::number(double mm, double step) const {
  if (inches_) return unbroken(inch_text(mm, step < 1.0 ? 32 : 16));
  return without_zeros(look::rounded(snapped(mm, step), decimals_of(step)));
}

std::string Lengths::text(double mm, double step) const { return with_unit(number(mm, step)); }

std::string Lengths::height(double mm) const {
  return inches_ ? number(snapped(mm, height_step_), 0.5) : number(mm, height_step_);
}

std::string Lengths::height_text(double mm) const { return with_unit(height(mm)); }

std::string Lengths::with_unit(const std::string& number) const {
  return number + (inches_ ? no_break : " ") + unit();
}

std::string Lengths::decimal(double mm) const {
  return inches_ ? without_zeros(look::rounded(mm / mm_per_inch, 3)) : number(mm, 0.1);
}

std::string Lengths::size(double thickness, double width, double length) const {
  if (inches_) {
    return number(thickness, 0.1) + " × " + number(snapped_up(width, tape_step_)) + " × " +
           number(snapped_up(length, tape_step_));
  }
  return number(thickness, 0.1) + " × " + number(width, 0.1) + " × " + number(length, 0.1);
}

std::string Lengths::list(const std::vector<double>& mm, double step) const {
  std::string text;
  for (const double each : mm) {
    if (!text.empty()) text += inches_ ? "; " : " / ";
    text += number(each, step);
  }
  return text;
}

std::string Lengths::pair(double from, double to) const {
  return number(from) + (inches_ ? " to " : "/") + number(to);
}

double snapped(double mm, double step) { return std::round(mm / step) * step; }

double snapped_up(double mm, double step) { return std::ceil((mm - hair) / step) * step; }

}  // namespace kerfwright::sheet
