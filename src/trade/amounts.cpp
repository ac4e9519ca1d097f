#include "kerfwright/trade/amounts.hpp"

#include <algorithm>

#include "kerfwright/fixed.hpp"
#include "kerfwright/trade/scaling.hpp"

namespace kerfwright {
namespace {}  // namespace

// A cubic foot is 28 litres and a board foot 2.4: one and two decimals less tell as much.
std::string Amounts::log_number(double m3, int decimals) const {
  return inches ? fixed(m3 / m3_per_cubic_foot, std::max(decimals - 1, 0)) : fixed(m3, decimals);
}

std::string Amounts::boards_number(double m3, int decimals) const {
  return inches ? fixed(m3 / m3_per_board_foot, std::max(decimals - 2, 0)) : fixed(m3, decimals);
}

std::string Amounts::log(double m3, int decimals) const {
  return log_number(m3, decimals) + " " + log_unit();
}

std::string Amounts::boards(double m3, int decimals) const {
  return boards_number(m3, decimals) + " " + boards_unit();
}

std::string Amounts::mass_number(double kg) const {
  return fixed(inches ? kg / kg_per_pound : kg, 0);
}

std::string Amounts::mass(double kg) const { return mass_number(kg) + (inches ? " lb" : " kg"); }

std::string Amounts::density(double kg_per_m3) const {
  return inches ? fixed(kg_per_m3 * m3_per_cubic_foot / kg_per_pound, 0) + " lb per cubic foot"
                : fixed(kg_per_m3, 0) + " kg/m3";
}

double Amounts::price(double of_m3) const { return inches ? of_m3 * m3_per_cubic_foot : of_m3; }

}  // namespace kerfwright
