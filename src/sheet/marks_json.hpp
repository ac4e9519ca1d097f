#pragma once

#include <string>

#include "json_read.hpp"
#include "kerfwright/shape/marks.hpp"

namespace kerfwright::sheet {

/// The marks as a JSON object; a kind of which there is none is left out.
std::string marks_text(const Marks& marks);

/// @throws UserError bad_shape
Marks read_marks(const json_read::Node& node);

}  // namespace kerfwright::sheet
