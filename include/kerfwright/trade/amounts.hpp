#pragma once

#include <string>

/// Volumes and masses as a person says them who measures in inches. Inside the program volumes are
/// m3 and masses kg.
namespace kerfwright {

constexpr double kg_per_pound = 0.45359237;  // exact by definition

/// What the amounts of a log and of boards are told in.
struct Amounts {
  bool inches = false;

  /// Of wood that is not sawn yet: "0.151 m3", "5.33 cubic feet".
  std::string log(double m3, int decimals = 3) const;
  /// Of boards, by the size they are sawn to: "0.079 m3", "33.5 board feet".
  std::string boards(double m3, int decimals = 3) const;
  /// To the whole: "412 kg", "908 lb".
  std::string mass(double kg) const;
  /// How heavy wood is: "900 kg/m3", "56 lb per cubic foot".
  std::string density(double kg_per_m3) const;

  // The same without the unit, for columns of a table.
  std::string log_number(double m3, int decimals = 3) const;
  std::string boards_number(double m3, int decimals = 3) const;
  std::string mass_number(double kg) const;
  const char* log_unit() const { return inches ? "cubic feet" : "m3"; }
  const char* boards_unit() const { return inches ? "board feet" : "m3"; }
  const char* one_of_log() const { return inches ? "cubic foot" : "m3"; }  ///< "a … of log"
  /// What a m3 of log costs, told for what is said: a m3 or a cubic foot.
  double price(double of_m3) const;
};

}  // namespace kerfwright
