#pragma once

#include <string>
#include <string_view>

#include "lengths.hpp"
#include "svg.hpp"

/// Pieces of the saw sheet's HTML. Text is escaped where it comes from outside.
namespace kerfwright::sheet::html {

/// `<tag class="…">…</tag>`; `inside` is HTML.
inline std::string element(std::string_view tag, std::string_view kind, std::string_view inside) {
  std::string text = "<";
  text.append(tag);
  if (!kind.empty()) text.append(" class=\"").append(kind).append("\"");
  return text.append(">").append(inside).append("</").append(tag).append(">");
}

/// A figure to read from a distance.
inline std::string strong(std::string_view kind, std::string_view inside) {
  return element("b", kind, inside);
}

/// A line with a box to tick.
inline std::string tick(std::string_view inside) {
  std::string text = "<label><input type=\"checkbox\"/><span>";
  return text.append(inside).append("</span></label>");
}

/// A line of a list, with a box to tick.
inline std::string list_item(std::string_view inside) {
  return element("li", "", tick(inside)) + "\n";
}

}  // namespace kerfwright::sheet::html
