#include "kerfwright/trade/scaling.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>

namespace kerfwright {
namespace {

/// The nearest multiple of `step`, halves up.
int nearest(double value, int step) {
  return step * static_cast<int>(std::floor(value / step + 0.5));
}

// Scribner Decimal C, tens of board feet, columns 8, 10, 12, 14, 16 ft. Sources at the declaration.
constexpr int decimal_c_first = 6;  // in
constexpr std::array<std::array<double, 5>, 25> decimal_c = {{
    {0.5, 1, 1, 1, 2},     // 6 in
    {1, 1, 2, 2, 3},       // 7 in
    {1, 2, 2, 2, 3},       // 8 in
    {2, 3, 3, 3, 4},       // 9 in
    {3, 3, 3, 4, 6},       // 10 in
    {3, 4, 4, 5, 7},       // 11 in
    {4, 5, 6, 7, 8},       // 12 in
    {5, 6, 7, 8, 10},      // 13 in
    {6, 7, 9, 10, 11},     // 14 in
    {7, 9, 11, 12, 14},    // 15 in
    {8, 10, 12, 14, 16},   // 16 in
    {9, 12, 14, 16, 18},   // 17 in
    {11, 13, 16, 19, 21},  // 18 in
    {12, 15, 18, 21, 24},  // 19 in
    {14, 17, 21, 24, 28},  // 20 in
    {15, 19, 23, 27, 30},  // 21 in
    {17, 21, 25, 29, 33},  // 22 in
    {19, 23, 28, 33, 38},  // 23 in
    {21, 25, 30, 35, 40},  // 24 in
    {23, 29, 34, 40, 46},  // 25 in
    {25, 31, 37, 44, 50},  // 26 in
    {27, 34, 41, 48, 55},  // 27 in
    {29, 36, 44, 51, 58},  // 28 in
    {31, 38, 46, 53, 61},  // 29 in
    {33, 41, 49, 57, 66},  // 30 in
}};

}  // namespace

double circle_area(double diameter) { return std::numbers::pi * diameter * diameter / 4; }

double huber_volume(double mid_area, double length) { return mid_area * length; }

double smalian_volume(double small_area, double large_area, double length) {
  return (small_area + large_area) * length / 2;
}

double newton_volume(double small_area, double mid_area, double large_area, double length) {
  return (small_area + 4 * mid_area + large_area) * length / 6;
}

double cone_frustum_volume(double small_area, double large_area, double length) {
  return length / 3 * (small_area + std::sqrt(small_area * large_area) + large_area);
}

double neiloid_frustum_volume(double small_area, double large_area, double length) {
  return length / 4 *
         (small_area + std::cbrt(small_area * small_area * large_area) +
          std::cbrt(small_area * large_area * large_area) + large_area);
}

int scaling_diameter(double inches) { return nearest(inches, 1); }

double doyle(double diameter, double length) {
  const double side = std::max(0.0, diameter - 4);  // 4 in of slab; a square grows again below it
  return side * side * length / 16;
}

int doyle_table(int diameter, int length) { return nearest(doyle(diameter, length), 1); }

double international_eighth(double diameter, double length) {
  constexpr double section = 4, taper = 0.5;  // ft, in per section
  double sum = 0;
  for (double done = 0; done < length; done += section, diameter += taper) {
    const double whole = std::max(0.0, 0.22 * diameter * diameter - 0.71 * diameter);
    sum += whole * std::min(1.0, (length - done) / section);
  }
  return sum;
}

double international_quarter(double diameter, double length) {
  return 0.905 * international_eighth(diameter, length);
}

int international_quarter_table(int diameter, int length) {
  return nearest(international_quarter(diameter, length), 5);
}

double scribner(double diameter, double length) {
  return std::max(0.0, (0.79 * diameter * diameter - 2 * diameter - 4) * length / 16);
}

std::optional<double> scribner_decimal_c(int diameter, int length) {
  const int row = diameter - decimal_c_first;
  if (row < 0 || row >= static_cast<int>(decimal_c.size())) return std::nullopt;
  if (length < 8 || length > 16 || length % 2 != 0) return std::nullopt;
  return decimal_c[static_cast<std::size_t>(row)][static_cast<std::size_t>((length - 8) / 2)];
}

double board_feet(double thickness, double width, double length) {
  return std::max(1.0, thickness) * width * length / 12;
}

double overrun_percent(double tally, double scale) { return 100 * (tally - scale) / scale; }

double recovery_percent(double tally, double scale) { return 100 * tally / scale; }

double lumber_recovery_factor(double tally, double log_cubic_feet) {
  return tally / log_cubic_feet;
}

double sweep_deduction(double sweep, double diameter, double length) {
  const double allowance = std::clamp(length, 8.0, 16.0) / 8;
  return std::clamp((sweep - allowance) / diameter, 0.0, 1.0);
}

double crook_deduction(double departure, double diameter, double crooked_length, double length) {
  return std::clamp(departure / diameter * (crooked_length / length), 0.0, 1.0);
}

namespace {

/// A column of the grade chart.
struct ChartColumn {
  double least_width, least_length;  // in, ft
  int units_per_measure;             // of the surface measure
  int added, divisor, most;          // cuttings = (measure + added) / divisor, at most `most`
  int extra_from, extra_to, extra_units_per_measure;
};

ChartColumn chart_of(HardwoodGrade grade) {
  switch (grade) {
    case HardwoodGrade::fas:
      return {6, 8, 10, 0, 4, 4, 6, 15, 11};
    case HardwoodGrade::common_1:
      return {3, 4, 8, 1, 3, 5, 3, 10, 9};
    default:
      return {3, 4, 6, 0, 2, 7, 2, 7, 8};
  }
}

}  // namespace

int surface_measure(double width, double length) {
  return static_cast<int>(std::floor(width * std::floor(length) / 12.0 + 0.5));
}

CuttingUnits cutting_units(HardwoodGrade grade, int measure) {
  const ChartColumn chart = chart_of(grade);
  CuttingUnits units;
  units.cuttings = std::min(chart.most, (measure + chart.added) / chart.divisor);
  units.units = measure * chart.units_per_measure;
  if (measure >= chart.extra_from && measure <= chart.extra_to) {
    units.extra_cuttings = units.cuttings + 1;
    units.extra_units = measure * chart.extra_units_per_measure;
  }
  return units;
}

bool large_enough(HardwoodGrade grade, double width, double length) {
  const ChartColumn chart = chart_of(grade);
  const CuttingUnits asked = cutting_units(grade, surface_measure(width, length));
  const double whole_face = width * std::floor(length);
  return width >= chart.least_width && length >= chart.least_length && asked.cuttings >= 1 &&
         whole_face >= asked.units;
}

}  // namespace kerfwright
