#include "text_line.hpp"

#include <array>
#include <cstdarg>
#include <cstdio>

namespace kerfwright {
namespace {

std::string formatted(const char* format, std::va_list values) {
  std::array<char, 400> text{};
  std::vsnprintf(text.data(), text.size(), format, values);
  return text.data();
}

}  // namespace

std::string text_of(const char* format, ...) {
  std::va_list values;
  va_start(values, format);
  const std::string text = formatted(format, values);
  va_end(values);
  return text;
}

std::string text_line(const char* format, ...) {
  std::va_list values;
  va_start(values, format);
  const std::string text = formatted(format, values);
  va_end(values);
  return text + "\n";
}

}  // namespace kerfwright
