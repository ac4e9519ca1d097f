#pragma once

#include <string>
#include <vector>

#include "kerfwright/trade/mill.hpp"

/// Lengths as a person reads them, in mm or in inches and fractions. Every length on the sheet, the
/// template, the drawings and in boards.csv is written here and nowhere else.
namespace kerfwright::sheet {

class Lengths {
 public:
  /// As the mill's height scale and the tape beside it show them.
  explicit Lengths(const Mill& mill)
      : inches_(mill.inches), height_step_(mill.height_step), tape_step_(mill.tape_step()) {}

  bool inches() const { return inches_; }
  double tape_step() const { return tape_step_; }  ///< mm

  /// A length that a tape measures, such as "213" or "8 3/8".
  /// @param step mm to which it is told in mm; in inches whole sixteenths, where it is finer than
  /// 1 mm thirty-seconds
  std::string number(double mm, double step = 1.0) const;
  /// The same with its unit: "213 mm", "8 3/8 in".
  std::string text(double mm, double step = 1.0) const;
  /// A height that is set on the mill's scale.
  std::string height(double mm) const;
  /// The same with its unit.
  std::string height_text(double mm) const;
  /// For a spreadsheet: a decimal number, to 0.1 mm or 0.001 in.
  std::string decimal(double mm) const;
  /// A board as a sawyer writes it: "50 × 200 × 2400". In inches width and length are rounded up,
  /// as it is sawn.
  std::string size(double thickness, double width, double length) const;
  /// Lengths of one kind at several places: "27 / 25 / 5", "1 1/16; 1; 3/16".
  std::string list(const std::vector<double>& mm, double step = 1.0) const;
  /// How thick a flitch is: whole mm, or thirty-seconds.
  std::string thickness(double mm) const { return text(mm, inches_ ? 0.5 : 1.0); }
  /// A distance at both ends of a line: "34/52", "1 3/8 to 2 1/16".
  std::string pair(double from, double to) const;
  std::string unit() const { return inches_ ? "in" : "mm"; }
  std::string units() const { return inches_ ? "inches" : "mm"; }  ///< in a sentence

 private:
  std::string with_unit(const std::string& number) const;

  bool inches_;
  double height_step_, tape_step_;  // mm
};

/// The nearest multiple of a step.
double snapped(double mm, double step);

/// The multiple of a step that is no less, but for a hair that no tape shows.
double snapped_up(double mm, double step);

}  // namespace kerfwright::sheet
