#pragma once

#include <string>
#include <vector>

#include "kerfwright/archive/archive.hpp"

namespace kerfwright {

/// Logs for a program (JSON, kerfwright-logs version 1): the card, sizes in mm and m3, and how many
/// plans and tallies there are.
std::string logs_json(const std::vector<KeptLog>& logs);

}  // namespace kerfwright
