#include "toml_depth.hpp"

#include <algorithm>

namespace kerfwright {
namespace {

/// Where a string that begins at `from` ends: the position after its last quotation mark. A string
/// that is never closed ends at the line or the text; the parser stops there too, so nothing after
/// it is built.
std::size_t end_of_string(std::string_view text, std::size_t from) {
  const char quote = text[from];
  const bool many_lines = text.substr(from, 3) == std::string_view(quote == '"' ? "\"\"\"" : "'''");
  std::size_t i = from + (many_lines ? 3 : 1);
  while (i < text.size()) {
    if (text[i] == '\\' && quote == '"') {
      i += 2;
      continue;
    }
    if (!many_lines && (text[i] == quote || text[i] == '\n')) return i + 1;
    if (many_lines && text.substr(i, 3) == text.substr(from, 3)) {
      const std::size_t marks = text.find_first_not_of(quote, i);
      return std::min(
          {marks, i + 5, text.size()});  // up to two marks may stand before the closing three
    }
    ++i;
  }
  return text.size();
}

std::size_t line_at(std::string_view text, std::size_t position) {
  const auto head = text.substr(0, position);
  return 1 + static_cast<std::size_t>(std::count(head.begin(), head.end(), '\n'));
}

}  // namespace

std::optional<std::size_t> line_of_deep_key(std::string_view toml, std::size_t most) {
  std::size_t dots = 0;  // since the last character that cannot stand inside a dotted key
  for (std::size_t i = 0; i < toml.size();) {
    const char c = toml[i];
    if (c == '"' || c == '\'') {
      i = end_of_string(toml, i);
      continue;
    }
    if (c == '#') {
      i = std::min(toml.find('\n', i), toml.size());
      continue;
    }
    if (c == '.') {
      if (++dots > most) return line_at(toml, i);
    } else if (std::string_view("=,[]{}\n").find(c) != std::string_view::npos) {
      dots = 0;
    }
    ++i;
  }
  return std::nullopt;
}

}  // namespace kerfwright
