#pragma once

#include <span>
#include <string_view>

namespace kerfwright::figures {

/// Total shrinkage, %, green to oven-dry. `seen` has a letter for each number: l looked up, m from
/// memory.
struct Shrinkage {
  std::string_view name;
  double radial, tangential, volumetric;
  std::string_view seen;
};

/// Of the same table; 0 = not given there. `seen` has a letter for `gravity` and one for the
/// moistures.
struct Mass {
  std::string_view name;
  double gravity, moisture_heart, moisture_sap;
  std::string_view seen;
};

/// Genus averages. `relative` is the species of the other tables whose green density stands in;
/// empty where there is none.
struct Genus {
  std::string_view name;
  std::string_view other_names;  ///< separated by ", "
  double radial, tangential;
  std::string_view relative;
};

/// A green density that was seen as such, kg/m3.
struct Density {
  std::string_view name;
  double value;
  std::string_view seen, source;
};

/// Double bark thickness in mm = a + b D + c D^2, D over bark in cm.
struct Bark {
  std::string_view name;
  double a, b, c;
};

/// C per 1 % of moisture, radial and tangential.
struct Change {
  std::string_view name;
  double radial, tangential;
};

inline constexpr std::string_view shrinkage_source =
    "Wood Handbook, USDA FPL-GTR-190 (2010), Table 4-3";
inline constexpr std::string_view genus_source =
    "table of total shrinkage of panel woods, chapter on chemical and physical properties of wood, "
    "p. 15, "
    "R. B. Hoadley in The Structural Conservation of Panel Paintings, Getty Conservation "
    "Institute, 1998 "
    "(author and title from memory); genus average";
inline constexpr std::string_view change_source =
    "S0 = 3000 / (1/C + 20) from C of Wood Handbook, USDA FPL-GTR-190 (2010), Table 13-5";
inline constexpr std::string_view bark_source =
    "E. Altherr, P. Unfried, J. Hradetzky, V. Hradetzky, Statistische Rindenbeziehungen als "
    "Hilfsmittel zur Ausformung und Aufmessung unentrindeten Stammholzes, Forstliche Versuchs- und "
    "Forschungsanstalt Baden-Württemberg, 1974 to 1979; coefficients as in the source text of the "
    "taper routines of the German National Forest Inventory (E. Kublin, G. Scharnagl, 1988; R "
    "package rBDAT)";
inline constexpr std::string_view gravity_source =
    "Wood Handbook, USDA FPL-GTR-190 (2010), Table 5-3, green";
inline constexpr std::string_view moisture_source =
    "Wood Handbook, USDA FPL-GTR-190 (2010), Table 4-1";

std::span<const Shrinkage> hardwoods();
std::span<const Shrinkage> softwoods();
std::span<const Genus> genera();
std::span<const Change> changes();
std::span<const Mass> masses();
std::span<const Density> densities();
std::span<const Bark> barks();

}  // namespace kerfwright::figures
