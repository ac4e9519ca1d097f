#pragma once

#include <string>
#include <vector>

#include "kerfwright/saw/saw_plan.hpp"
#include "kerfwright/shape/log_shape.hpp"
#include "sheet_reader.hpp"

namespace kerfwright {

/// What comes of a log that is sawn with nothing but the numbers of its sheet.
struct SawnBySheet {
  double value = 0;
  std::vector<std::string> lost;  ///< why a board is not there, a sentence each
};

/// The plan says which piece each cut saws, as the person beside the saw sees; everything else is
/// read from the sheet: turns, blocks, heights, tape distances, lengths.
SawnBySheet saw_by_sheet(const sheet_reader::ReadSheet& sheet, const SawPlan& plan,
                         const LogShape& shape);

}  // namespace kerfwright
