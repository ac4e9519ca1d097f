#include "lying.hpp"

#include <cmath>

namespace kerfwright::saw {
namespace {

constexpr double beyond = 3100;   // mm, further than any wood reaches
constexpr double on_face = 0.05;  // mm between a level and a face that counts as one with it

int whole_units(double mm) { return static_cast<int>(std::lround(mm * units_per_mm)); }

}  // namespace

std::optional<CantClip> clip_of(const Lying& lying, double kerf) {
  if (!lying.has_sides()) return std::nullopt;
  CantClip clip;
  clip.lean = lying.lean;
  if (lying.left && lying.right) {
    clip.size = lying.width;
    clip.left = whole_units(*lying.left);
    clip.right = clip.left + static_cast<int>(std::ceil(clip.size * units_per_mm - 1e-6));
    clip.zero = clip.left;
  } else if (lying.left) {
    clip.left = static_cast<int>(std::ceil(*lying.left * units_per_mm));
    clip.right = whole_units(beyond);
    clip.zero = clip.left;
  } else {
    clip.left = -whole_units(beyond);
    clip.right = static_cast<int>(std::floor(*lying.right * units_per_mm));
    // So that the last lane can end at the face: its pitch, kerf included, is whole steps.
    clip.zero = clip.right + whole_units(kerf);
  }
  return clip;
}

void keep_between(const Lying& lying, const HeightGrid& grid, double kerf,
                  const std::function<double(std::size_t)>& thickness, StackTable& table) {
  if (!lying.floor && !lying.ceiling) return;
  const double least = kerf + grid.step;  // mm, between a face and the next cut's far side
  for (std::size_t k = 0; k < table.items.size(); ++k) {
    for (int b = 0; b < table.levels; ++b) {
      const double bottom = grid.height(b);
      const double top = bottom + thickness(k);
      const bool on_floor = lying.floor && std::abs(bottom - *lying.floor) < on_face;
      const bool at_ceiling = lying.ceiling && std::abs(*lying.ceiling - top) < on_face;
      const bool inside = (!lying.floor || on_floor || bottom >= *lying.floor + least - 1e-6) &&
                          (!lying.ceiling || at_ceiling || top <= *lying.ceiling - least + 1e-6);
      const auto at = static_cast<std::size_t>(b);
      if (!inside) {
        table.worth[k][at] = 0.0F;
        continue;
      }
      if (on_floor) table.cut_cost[at] = 0.0F;
      if (at_ceiling) {
        table.cut_cost[at + static_cast<std::size_t>(table.items[k].pitch)] = 0.0F;
      }
    }
  }
}

}  // namespace kerfwright::saw
