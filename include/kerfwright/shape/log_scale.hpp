#pragma once

#include <optional>
#include <string>

#include "kerfwright/shape/log_shape.hpp"
#include "kerfwright/trade/mill.hpp"
#include "kerfwright/trade/species.hpp"

namespace kerfwright {

/// What the log would be called by the published formulas and rules (trade/scaling.hpp), under
/// bark. They are conventions that take diameters and a length, side by side with the model's own
/// volume.
struct LogScale {
  double model = 0, huber = 0, smalian = 0, newton = 0;  ///< m3; sections as circles whose girth a
                                                         ///< tape would read
  double diameter = 0;      ///< inches: of the small end the narrow way and at right angles, halved
  double length = 0;        ///< feet
  int scaled_diameter = 0;  ///< whole inches, as a printed rule is entered with
  int scaled_length = 0;    ///< whole feet, the rest counts as trim
  double doyle = 0, international = 0, scribner = 0;  ///< board feet, of diameter and length
  int doyle_table = 0, international_table = 0, scribner_table = 0;  ///< of the scaled ones
  std::optional<double> decimal_c;  ///< board feet, where the published table has it
};

LogScale scale_log(const LogShape& shape);

/// The straight beam of any section that runs through the log from end to end along its chord,
/// under bark: what all sections have in common; and the same of the log with its axis made
/// straight, section by section. The difference is what sweep costs a sawyer who cuts full lengths.
struct SweepLoss {
  double swept = 0, straight = 0;  ///< m3
  double share() const { return straight > 0.0 ? 1.0 - swept / straight : 0.0; }
};

SweepLoss sweep_loss(const LogShape& shape);

/// Mass of the green log in words, bark taken as heavy as wood. A single log may differ by a fifth
/// from the mean of its species (FPL Technical Note 218, 1931).
/// @param mill whose limit is compared, where given
std::string describe_mass(const LogShape& shape, const Species& species,
                          const std::optional<Mill>& mill, bool inches = false);

/// Tables of text for a person, units included.
/// @param inches volumes in cubic feet instead of m3
std::string describe(const LogScale& scale, bool inches = false);
std::string describe(const SweepLoss& loss, bool inches = false);

}  // namespace kerfwright
