#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace kerfwright {

/// How a published figure came into the tables.
enum class Evidence {
  looked_up,    ///< seen in the published text
  from_memory,  ///< recalled; check against the source before quoting it
  computed,     ///< worked out from figures that were looked up
  stand_in      ///< no figure for this tree was seen; that of a relative, or a neutral one
};

/// "looked up", "from memory", "computed", "stand-in".
std::string_view words_for(Evidence evidence);

/// A number with its source.
struct Figure {
  double value = 0;
  Evidence evidence = Evidence::stand_in;
  std::string source;
};

/// Bark of a stem by its diameter: double bark thickness in mm = a + b D + c D^2, D over bark in
/// cm.
struct BarkModel {
  double a = 0, b = 0, c = 0;
  Evidence evidence = Evidence::stand_in;
  std::string source;
};

/// What is known of the wood of one tree. All are means of a species or genus: a single log can
/// differ by a fifth.
struct Species {
  std::string name;
  std::vector<std::string> other_names;
  Figure radial, tangential;         ///< %, shrinkage from green to oven-dry, of the green size
  std::optional<Figure> volumetric;  ///< %, likewise
  std::optional<Figure> gravity;     ///< basic specific gravity: oven-dry mass over green volume
  std::optional<Figure> moisture_heart, moisture_sap;  ///< %, green, of the oven-dry mass
  std::optional<Figure> green_density;  ///< kg/m3; where two figures were seen the heavier,
                                        ///< since a load must not be guessed too light
  Figure bark_ratio;                    ///< diameter under bark over diameter over bark
  std::optional<BarkModel> bark_model;  ///< goes before the ratio where one is published
};

/// Bark ratio where none is published: the middle of the 0.89 to 0.95 that the usual bark share of
/// 10 to 20 % of over-bark volume implies (Brack and Wood, Forest Mensuration, Australian National
/// University, 1998). A neutral start, no figure of any tree: measure the bark once and let that
/// count.
constexpr double neutral_bark_ratio = 0.92;

/// All species, in the order of the tables they come from.
const std::vector<Species>& species_table();

/// The species of that name; capitals, hyphens, commas and the order of the words do not matter.
/// @throws UserError unknown_species, with the names that come near
const Species& find_species(const std::string& name);

/// Share of the over-bark volume that is bark, 0 to 1: 1 - ratio^2.
double bark_volume_share(double bark_ratio);

/// Green density in kg/m3 from basic specific gravity and moisture in %: 1000 G (1 + M/100).
double green_density(double gravity, double moisture);

/// Shrinkage in % of the green size at a moisture in %, from the total one: S0 (30 - M) / 30 below
/// 30 %, else 0 (from memory: FPL-GTR-190 chapter 4).
double shrinkage_at(double total, double moisture);

/// Change of size per size and 1 % of moisture, between 6 and 14 %: 1 / (3000 / S0 - 20), S0 the
/// total shrinkage in %. Turns Table 4-3 of FPL-GTR-190 into its Table 13-5 to the printed digit
/// for cherry, beech, white ash, basswood and walnut.
double dimensional_change(double total);

}  // namespace kerfwright
