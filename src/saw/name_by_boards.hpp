#pragma once

#include <vector>

#include "kerfwright/saw/pattern.hpp"
#include "kerfwright/saw/saw_plan.hpp"

namespace kerfwright::saw {

/// Adds to a plan's pattern what its boards make of it: slabs are a pattern of their own, alone or
/// beside what the boards are sawn in; blanks, which are sawn through and through, where there is
/// no other board and `live` is not among the patterns.
void name_by_boards(SawPlan& plan, const std::vector<Pattern>& patterns);

}  // namespace kerfwright::saw
