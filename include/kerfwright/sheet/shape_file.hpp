#pragma once

#include <string>

#include "kerfwright/shape/log_shape.hpp"

namespace kerfwright {

/// The shape as the text of its file (JSON, kerfwright-shape): version 1, or 2 where it
/// has marks or bark that varies along the log.
std::string shape_to_json(const LogShape& shape);

/// Reads a shape of version 1 or 2 from the text of its file; `name` stands for the file in
/// messages.
/// @throws UserError bad_shape
LogShape shape_from_json(const std::string& text, const std::string& name);

}  // namespace kerfwright
