#pragma once

#include <string>

namespace kerfwright {

/// Fits every .xyz file of `folder` (x y z in metres, one stem each) to four points of five and
/// prints how far the fifth lie from the surface, beside the noise that the points themselves
/// show. With `drawings` set, writes three sections of each stem there as <stem>.svg.
/// @returns how many stems could not be fitted
int report_real_stems(const std::string& folder, const std::string& drawings);

}  // namespace kerfwright
