#pragma once

#include <string>

namespace kerfwright {

/// printf into a string.
__attribute__((format(printf, 1, 2))) std::string text_of(const char* format, ...);

/// The same with a line break at the end.
__attribute__((format(printf, 1, 2))) std::string text_line(const char* format, ...);

}  // namespace kerfwright
