#pragma once

#include <string>

#include "kerfwright/saw/saw_plan.hpp"
#include "kerfwright/shape/log_shape.hpp"

namespace kerfwright {

/// The boards as a table (CSV after RFC 4180, UTF-8 with a byte order mark, decimal points):
/// number, product, size, value, the flitch it comes of and the cut that frees that.
std::string boards_csv(const SawPlan& plan, const LogShape& shape);

}  // namespace kerfwright
