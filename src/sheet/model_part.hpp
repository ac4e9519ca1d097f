#pragma once

#include <string>

#include "saw_steps.hpp"

/// The log as a model to turn in a browser.
namespace kerfwright::sheet {

/// What the model is drawn from, as JSON: a thinned surface, the faces of the cuts, the pieces and
/// the boards. Millimetres, log frame.
std::string model_data(const Steps& steps, const LogShape& shape);

/// The section of the sheet with its script; `three_library` must stand before it once.
std::string model_part(const Steps& steps, const LogShape& shape);

extern const char* const model_script;
extern const char* const three_library;

}  // namespace kerfwright::sheet
