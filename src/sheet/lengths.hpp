#pragma once

#include <string>

/// Lengths as a person reads them. Every length on the saw sheet, the template and in boards.csv is
/// written here and nowhere else.
namespace kerfwright::sheet {

class Lengths {
 public:
  /// A length that is set or measured to a step, such as "213".
  std::string number(double mm, double step = 1.0) const;
  /// The same with its unit: "213 mm".
  std::string text(double mm, double step = 1.0) const;
  std::string unit() const { return "mm"; }
};

/// The nearest multiple of a step.
double snapped(double mm, double step);

}  // namespace kerfwright::sheet
