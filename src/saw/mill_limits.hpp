#pragma once

#include <optional>
#include <vector>

#include "flitch_worths.hpp"
#include "lanes.hpp"
#include "wood.hpp"

namespace kerfwright {

/// Whether the mill can hold the log: its thickest section (as a circle of the same area, over
/// bark) and, where the order names the species, its green mass, bark counted as wood.
/// @throws UserError log_beyond_mill, with a sentence that says what is too much and by how much
void refuse_log_beyond_mill(const LogShape& shape, const Order& order, const Mill& mill);

/// Whether any piece of the order can pay for the one cut that cuts it to length.
/// @throws UserError no_product_fits, with the piece that comes nearest
void refuse_worthless_pieces(const Order& order, const Mill& mill);

}  // namespace kerfwright

namespace kerfwright::saw {

/// What a cut that must not be made costs: no stack can pay for it.
inline constexpr float forbidden_cut = 1e30F;

/// Marks the cuts that the mill cannot make in a pose: wider over bark than its widest cut.
/// @param costs [level] of a cut whose upper side is there, raised to `forbidden_cut`
void forbid_wide_cuts(const Wood& wood, const Catalogue& catalogue, const Pose& pose,
                      std::vector<float>& costs);

/// Marks the cuts that would come within reach of metal and a margin.
/// @param clip the cant that is sawn: metal beside it is gone with the slabs
void forbid_cuts_at_metal(const Wood& wood, const Catalogue& catalogue, const Pose& pose,
                          const std::optional<CantClip>& clip, std::vector<float>& costs);

}  // namespace kerfwright::saw
