#pragma once

#include <array>
#include <string_view>

#include "kerfwright/saw/saw_plan.hpp"

namespace kerfwright {

/// The names of the kinds of setup in a plan file, in the order of SetupKind.
inline constexpr std::array<std::string_view, 4> setup_kind_names = {"log", "cant", "edging",
                                                                     "cross-cut"};

inline std::string_view setup_kind_name(SetupKind kind) {
  return setup_kind_names[static_cast<std::size_t>(kind)];
}

}  // namespace kerfwright
