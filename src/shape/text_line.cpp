#include "text_line.hpp"

#include <array>
#include <cstdarg>
#include <cstdio>

namespace kerfwright {

std::string text_line(const char* format, ...) {
  std::array<char, 400> text{};
  std::va_list values;
  va_start(values, format);
  std::vsnprintf(text.data(), text.size(), format, values);
  va_end(values);
  return std::string(text.data()) + "\n";
}

}  // namespace kerfwright
