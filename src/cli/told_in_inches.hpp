#pragma once

#include <string>
#include <vector>

namespace kerfwright::cli {

/// Whether a person who typed these words wants to be told inches: they say --inch, or the mill or
/// the plan that they name measures so. Asked when something is refused, so that no command has to
/// carry it to wherever that happens.
bool told_in_inches(const std::vector<std::string>& words);

}  // namespace kerfwright::cli
