#pragma once

#include <string>

#include "kerfwright/shape/log_shape.hpp"

namespace kerfwright {

/// The shape as the text of its file (JSON, kerfwright-shape version 1).
std::string shape_to_json(const LogShape& shape);

/// Reads a shape from the text of its file; `name` stands for the file in messages.
/// @throws UserError bad_shape
LogShape shape_from_json(const std::string& text, const std::string& name);

}  // namespace kerfwright
