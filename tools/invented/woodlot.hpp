#pragma once

#include <cstdint>
#include <string>
#include <vector>

#include "invented/invented_log.hpp"

namespace kerfwright {

/// Many invented logs and what is wanted of them.
struct Woodlot {
  std::vector<InventedLog> logs;
  std::string order;  ///< TOML
  std::string mill;   ///< TOML
};

/// The kinds of lists: "framing" (a small house, twenty products), "sleepers" (two sizes, the rest
/// as boards), "mixed" (some counted, some not).
std::vector<std::string> woodlot_kinds();

/// `logs` random logs of the sizes that suit the list, and the list for as many logs: by `share` of
/// about what they can give.
/// @throws UserError usage for a kind that is not among woodlot_kinds()
Woodlot woodlot(const std::string& kind, int logs, std::uint64_t seed, double share);

}  // namespace kerfwright
