#pragma once

#include <cstdint>
#include <string>
#include <vector>

#include "invented/invented_log.hpp"

namespace kerfwright {

struct Range {
  double low = 0, high = 0;
};

/// From what random logs are drawn. The defaults span what a small woodlot and an orchard give.
struct LogRanges {
  Range length{1200, 4000};      ///< mm
  Range diameter{180, 450};      ///< mm over bark, mean of butt and top
  Range taper{4, 16};            ///< mm of diameter per m
  Range sweep{0, 40};            ///< mm per m of length, at the middle
  Range crook{0, 10};            ///< mm per m of length
  Range ovality{0, 0.12};        ///< 1 - smallest / largest diameter
  Range flare{0, 0.12};          ///< share of the butt radius
  Range flutes{0, 6};            ///< how many; fewer than 3 makes none
  Range flute_depth{0.02, 0.2};  ///< share of the radius at the butt
  Range burls{0, 3};             ///< how many
  Range burl_height{0.1, 0.5};   ///< share of the mean radius
  Range stubs{0, 5};             ///< how many
  Range bark{3, 15};             ///< mm
  Range waviness{0.5, 1.5};      ///< mm, amplitude of each of six undulations
};

/// A log drawn from `ranges`; the same seed and ranges give the same log.
InventedLog random_log(std::uint64_t seed, const LogRanges& ranges = {});

/// The named logs: crooked-cherry, burled-walnut, straight-larch, short-plum, fluted-oak.
std::vector<std::string> recipe_names();

/// @throws UserError usage for a name that is not among recipe_names()
InventedLog recipe(const std::string& name);

/// An order (TOML) that suits random logs: five sizes of boards and beams, paid by volume.
extern const char* const mixed_order;

}  // namespace kerfwright
