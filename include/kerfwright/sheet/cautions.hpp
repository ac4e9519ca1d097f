#pragma once

#include <array>

namespace kerfwright {

/// What everybody hears before the first cut, in lines of a terminal.
inline constexpr std::array<const char*, 3> cautions = {
    "Before you saw: chock the log, keep clear of its rolling and of the blade; look for nails, "
    "wire and stones,",
    "above all in yard trees; eyes, ears, legs protected, never alone. Lumber that carries load "
    "must be graded by someone",
    "entitled to, after the local code. Rot and metal inside cannot be seen in a scan."};

}  // namespace kerfwright
