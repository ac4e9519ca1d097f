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

/// What a page begins with, up to its body. Nothing is fetched from anywhere.
/// @param attributes of `<html>`, each with a blank before it
/// @param allowed beside a style of its own: "; img-src data:"
inline std::string page_head(std::string_view attributes, std::string_view allowed,
                             std::string_view title, std::string_view style) {
  std::string text = "<!DOCTYPE html>\n<html lang=\"en\"";
  text.append(attributes);
  text +=
      ">\n<head>\n<meta charset=\"utf-8\"/>\n"
      "<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\"/>\n"
      "<meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; "
      "style-src 'unsafe-inline'";
  text.append(allowed).append("\"/>\n");
  text += element("title", "", xml_text(std::string(title))) + "\n";
  return text + element("style", "", style) + "\n</head>\n";
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
