#include "species_figures.hpp"

#include <array>

namespace kerfwright::figures {
namespace {

// Wood Handbook, USDA FPL-GTR-190 (2010), Table 4-3. The maples' radial and tangential figures, and
// the tangential ones of western hemlock, western larch and Engelmann spruce, were recalled first
// and then confirmed through Table 13-5 of the same book or the Oregon State University table of
// working and physical properties.
constexpr auto hardwood_rows = std::to_array<Shrinkage>({
    {"American basswood", 6.6, 9.3, 15.8, "lll"},  {"American beech", 5.5, 11.9, 17.2, "lll"},
    {"American chestnut", 3.4, 6.7, 11.6, "lll"},  {"American elm", 4.2, 9.5, 14.6, "lll"},
    {"American sycamore", 5.0, 8.4, 14.1, "lll"},  {"bigtooth aspen", 3.3, 7.9, 11.8, "lll"},
    {"black ash", 5.0, 7.8, 15.2, "lll"},          {"black cherry", 3.7, 7.1, 11.5, "lll"},
    {"black tupelo", 5.1, 8.7, 14.4, "lll"},       {"black walnut", 5.5, 7.8, 12.8, "lll"},
    {"black willow", 3.3, 8.7, 13.9, "lll"},       {"butternut", 3.4, 6.4, 10.6, "lll"},
    {"eastern cottonwood", 3.9, 9.2, 13.9, "lll"}, {"green ash", 4.6, 7.1, 12.5, "lll"},
    {"hackberry", 4.8, 8.9, 13.8, "lll"},          {"mockernut hickory", 7.7, 11.0, 17.8, "lll"},
    {"northern red oak", 4.0, 8.6, 13.7, "mmm"},   {"paper birch", 6.3, 8.6, 16.2, "lll"},
    {"pignut hickory", 7.2, 11.5, 17.9, "lll"},    {"post oak", 5.4, 9.8, 16.2, "lll"},
    {"quaking aspen", 3.5, 6.7, 11.5, "lll"},      {"red alder", 4.4, 7.3, 12.6, "lll"},
    {"red maple", 4.0, 8.2, 12.6, "llm"},          {"sassafras", 4.0, 6.2, 10.3, "lll"},
    {"silver maple", 3.0, 7.2, 12.0, "llm"},       {"sugar maple", 4.8, 9.9, 14.7, "llm"},
    {"sweet birch", 6.5, 9.0, 15.6, "lll"},        {"sweetgum", 5.3, 10.2, 15.8, "lll"},
    {"white ash", 4.9, 7.8, 13.3, "lll"},          {"white oak", 5.6, 10.5, 16.3, "lll"},
    {"yellow birch", 7.3, 9.5, 16.8, "lll"},       {"yellow-poplar", 4.6, 8.2, 12.7, "lll"},
});

constexpr auto softwood_rows = std::to_array<Shrinkage>({
    {"Atlantic white cedar", 2.9, 5.4, 8.8, "lll"},
    {"balsam fir", 2.9, 6.9, 11.2, "lll"},
    {"coast Douglas-fir", 4.8, 7.6, 12.4, "lll"},
    {"eastern hemlock", 3.0, 6.8, 9.7, "mmm"},
    {"eastern white pine", 2.1, 6.1, 8.2, "mmm"},
    {"Engelmann spruce", 3.8, 7.1, 11.0, "mlm"},
    {"grand fir", 3.4, 7.5, 11.0, "lll"},
    {"incense cedar", 3.3, 5.2, 7.7, "lll"},
    {"interior north Douglas-fir", 3.8, 6.9, 10.7, "lll"},
    {"interior west Douglas-fir", 4.8, 7.5, 11.8, "lll"},
    {"loblolly pine", 4.8, 7.4, 12.3, "mmm"},
    {"lodgepole pine", 4.3, 6.7, 11.1, "mmm"},
    {"longleaf pine", 5.1, 7.5, 12.2, "mmm"},
    {"noble fir", 4.3, 8.3, 12.4, "lll"},
    {"northern white cedar", 2.2, 4.9, 7.2, "lll"},
    {"Pacific silver fir", 4.4, 9.2, 13.0, "lll"},
    {"ponderosa pine", 3.9, 6.2, 9.7, "mmm"},
    {"Port-Orford cedar", 4.6, 6.9, 10.1, "lll"},
    {"red pine", 3.8, 7.2, 11.3, "mmm"},
    {"red spruce", 3.8, 7.8, 11.8, "mmm"},
    {"Sitka spruce", 4.3, 7.5, 11.5, "mmm"},
    {"subalpine fir", 2.6, 7.4, 9.4, "lll"},
    {"tamarack", 3.7, 7.4, 13.6, "mmm"},
    {"western hemlock", 4.2, 7.8, 12.4, "mlm"},
    {"western larch", 4.5, 9.1, 14.0, "mlm"},
    {"western red cedar", 2.4, 5.0, 6.8, "lll"},
    {"white fir", 3.3, 7.0, 9.8, "lll"},
    {"yellow cedar", 2.8, 6.0, 9.2, "lll"},
});

// Looked up; source at genus_source.
constexpr auto genus_rows = std::to_array<Genus>({
    {"cherry", "sweet cherry, wild cherry, sour cherry", 4.2, 7.8, "black cherry"},
    {"walnut", "European walnut", 4.3, 6.4, "black walnut"},
    {"oak", "European oak", 5.2, 10.2, ""},
    {"larch", "European larch", 3.3, 7.8, "western larch"},
    {"spruce", "Norway spruce", 3.6, 7.4, ""},
    {"pine", "Scots pine", 4.0, 7.7, ""},
    {"fir", "silver fir", 3.8, 7.6, ""},
    {"beech", "European beech", 5.8, 11.8, ""},
    {"ash", "European ash", 5.2, 8.3, "white ash"},
    {"maple", "European maple", 4.2, 8.8, "sugar maple"},
    {"sweet chestnut", "chestnut", 4.0, 6.8, ""},
    {"alder", "European alder", 4.4, 7.3, "red alder"},
    {"elm", "European elm", 5.2, 9.1, ""},
    {"lime", "linden, European lime", 6.8, 9.5, "American basswood"},
    {"poplar", "European poplar", 3.4, 8.5, ""},
    {"willow", "European willow", 4.2, 7.2, ""},
});

// Looked up; source at change_source.
constexpr auto change_rows = std::to_array<Change>({
    {"apple", 0.00205, 0.00376},
    {"black locust", 0.00158, 0.00252},
    {"honeylocust", 0.00144, 0.00230},
});

// G of Table 5-3, M of Table 4-1, same book. The gravity of sugar maple was confirmed by a maple
// flooring trade association. Beside each row what they come to, heart and sap in equal parts,
// kg/m3.
constexpr auto mass_rows = std::to_array<Mass>({
    {"red alder", 0.37, 0, 97, "ml"},             // 729
    {"white ash", 0.55, 46, 44, "ml"},            // 798
    {"American basswood", 0.32, 81, 133, "ml"},   // 662
    {"American beech", 0.56, 55, 72, "ml"},       // 916
    {"yellow birch", 0.55, 74, 72, "ml"},         // 952
    {"black cherry", 0.47, 58, 0, "ml"},          // 743
    {"sugar maple", 0.56, 65, 72, "lm"},          // 944
    {"northern red oak", 0.56, 80, 69, "mm"},     // 977
    {"white oak", 0.60, 64, 78, "mm"},            // 1026
    {"sweetgum", 0.46, 79, 137, "mm"},            // 957
    {"American sycamore", 0.46, 114, 130, "mm"},  // 1021
    {"black walnut", 0.51, 90, 73, "mm"},         // 926
    {"yellow-poplar", 0.40, 83, 106, "mm"},       // 778
    {"western red cedar", 0.31, 58, 249, "ml"},   // 786
    {"coast Douglas-fir", 0.45, 37, 115, "ml"},   // 792
    {"balsam fir", 0.33, 88, 173, "ml"},          // 761
    {"grand fir", 0.35, 91, 136, "ml"},           // 747
    {"white fir", 0.37, 98, 160, "ml"},           // 847
    {"western hemlock", 0.42, 85, 170, "mm"},     // 956
    {"western larch", 0.48, 54, 119, "mm"},       // 895
    {"loblolly pine", 0.47, 33, 110, "mm"},       // 806
    {"lodgepole pine", 0.38, 41, 120, "mm"},      // 686
    {"ponderosa pine", 0.38, 40, 148, "lm"},      // 737
    {"Sitka spruce", 0.37, 41, 142, "mm"},        // 709
});

// Looked up; source at bark_source. It has four functions for each species: of the butt, the middle
// and the top of the stem, and a fourth that lies between them, given here, since nobody says which
// part of its tree a log was. Oak is its Quercus robur, maple Acer pseudoplatanus, lime Tilia spp.,
// elm Ulmus glabra.
constexpr auto bark_rows = std::to_array<Bark>({
    {"spruce", 0.85149, 0.60934, -0.00228},
    {"fir", 1.76896, 0.59175, 0},
    {"pine", 1.59099, 0.50146, 0},
    {"larch", 3.58012, 1.03147, 0},
    {"beech", 2.61029, 0.28522, 0},
    {"oak", 10.18342, 0.68997, 0},
    {"maple", -0.62466, 0.73312, -0.00482},
    {"lime", 1.39565, 0.65024, 0},
    {"ash", -7.97623, 1.40182, -0.01011},
    {"elm", 8.26574, 0.89505, 0},
    {"alder", 8.05239, 0.84910, 0},
    {"cherry", 4.05603, 0.58080, 0},
    {"black locust", -2.57381, 1.69622, 0},
    {"northern red oak", -3.19581, 0.93891, -0.00596},
    {"Sitka spruce", 0.05167, 0.81782, -0.00968},
    {"eastern white pine", 3.63666, 0.50782, 0},
});

constexpr std::string_view shipping =
    "Oregon State University, table of working and physical properties, green shipping weight";
constexpr std::string_view planning = "round planning figure for whole logs, no source seen";

constexpr auto density_rows = std::to_array<Density>({
    {"coast Douglas-fir", 689, "l", shipping},
    {"interior north Douglas-fir", 689, "l", shipping},
    {"interior west Douglas-fir", 689, "l", shipping},
    {"western larch", 801, "l", shipping},
    {"Engelmann spruce", 577, "l", shipping},
    {"western hemlock", 657, "l", shipping},     // 41 lb/ft3
    {"noble fir", 481, "l", shipping},           // 30 lb/ft3
    {"grand fir", 753, "l", shipping},           // 47 lb/ft3
    {"Pacific silver fir", 577, "l", shipping},  // 36 lb/ft3
    {"spruce", 800, "m", planning},
    {"pine", 850, "m", planning},
    {"beech", 1000, "m", planning},
    {"oak", 1000, "m", planning},
});

}  // namespace

std::span<const Shrinkage> hardwoods() { return hardwood_rows; }
std::span<const Shrinkage> softwoods() { return softwood_rows; }
std::span<const Genus> genera() { return genus_rows; }
std::span<const Change> changes() { return change_rows; }
std::span<const Mass> masses() { return mass_rows; }
std::span<const Density> densities() { return density_rows; }
std::span<const Bark> barks() { return bark_rows; }

}  // namespace kerfwright::figures
