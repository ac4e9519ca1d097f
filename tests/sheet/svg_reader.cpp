#include "svg_reader.hpp"

#include <libxml/parser.h>

#include <algorithm>
#include <cstdlib>
#include <memory>

namespace kerfwright::svg_reader {
namespace {

const xmlChar* xml(const char* text) { return reinterpret_cast<const xmlChar*>(text); }

std::string text_of(xmlChar* owned) {
  const std::unique_ptr<xmlChar, decltype(xmlFree)> keep(owned, xmlFree);
  std::string text;
  for (const xmlChar* at = owned; at != nullptr && *at != 0; ++at) text += static_cast<char>(*at);
  return text;
}

std::string attribute(xmlNode* node, const char* name) {
  return text_of(xmlGetProp(node, xml(name)));
}

bool is(const xmlNode* node, const char* name) {
  return node->type == XML_ELEMENT_NODE && xmlStrcmp(node->name, xml(name)) == 0;
}

std::string title_of(xmlNode* node) {
  for (xmlNode* child = node->children; child != nullptr; child = child->next) {
    if (is(child, "title")) return text_of(xmlNodeGetContent(child));
  }
  return {};
}

void collect(xmlNode* node, const std::string& group, Drawing& drawing) {
  for (xmlNode* child = node->children; child != nullptr; child = child->next) {
    const std::string id = is(child, "g") ? attribute(child, "id") : std::string();
    if (is(child, "title")) drawing.titles.push_back(text_of(xmlNodeGetContent(child)));
    if (is(child, "text")) {
      drawing.texts.push_back(
          {text_of(xmlNodeGetContent(child)), group, std::atof(attribute(child, "x").c_str()),
           std::atof(attribute(child, "y").c_str()),
           std::atof(attribute(child, "font-size").c_str()), attribute(child, "text-anchor"),
           attribute(child, "font-weight") == "bold"});
    }
    if (is(child, "path")) {
      drawing.shapes.push_back({attribute(child, "d"),
                                attribute(child, "fill") + " " + attribute(child, "stroke"), group,
                                title_of(node), std::atof(attribute(child, "stroke-width").c_str()),
                                !attribute(child, "stroke-dasharray").empty()});
    }
    collect(child, id.empty() ? group : id, drawing);
  }
}

/// Width in units of the size, judged by the kind of letter.
double letters(const std::string& utf8) {
  const std::string narrow = " .,:;|!ijl'/";
  const std::string slim = "frst-()I";
  const std::string wide = "mwMW%";
  double width = 0.0;
  for (const char c : utf8) {
    if ((static_cast<unsigned char>(c) & 0xC0U) == 0x80U) continue;
    const auto in = [c](const std::string& set) { return set.find(c) != std::string::npos; };
    width += in(narrow) ? 0.34 : in(slim) ? 0.45 : in(wide) ? 0.95 : 0.62;
  }
  return width;
}

}  // namespace

Drawing read(const std::string& svg) {
  Drawing drawing;
  const std::unique_ptr<xmlDoc, decltype(&xmlFreeDoc)> document(
      xmlReadMemory(svg.data(), static_cast<int>(svg.size()), "cut-map.svg", nullptr,
                    XML_PARSE_NONET | XML_PARSE_NOERROR | XML_PARSE_NOWARNING),
      xmlFreeDoc);
  if (!document) return drawing;
  drawing.well_formed = true;
  xmlNode* root = xmlDocGetRootElement(document.get());
  drawing.width = attribute(root, "width");
  drawing.height = attribute(root, "height");
  drawing.view_box = attribute(root, "viewBox");
  collect(root, "", drawing);
  return drawing;
}

std::array<double, 4> box(const Text& text) {
  const double width = letters(text.words) * text.size * (text.bold ? 1.1 : 1.0);
  const double before = text.anchor == "middle" ? width / 2 : text.anchor == "end" ? width : 0.0;
  return {text.x - before, text.y - 0.73 * text.size, text.x - before + width, text.y};
}

bool overlap(const Text& a, const Text& b) {
  const auto p = box(a);
  const auto q = box(b);
  return p[0] < q[2] && q[0] < p[2] && p[1] < q[3] && q[1] < p[3];
}

std::vector<double> points(const std::string& path) {
  std::vector<double> numbers;
  const char* at = path.c_str();
  while (*at != 0) {
    char* end = nullptr;
    const double number = std::strtod(at, &end);
    if (end == at) {
      ++at;
    } else {
      numbers.push_back(number);
      at = end;
    }
  }
  return numbers;
}

}  // namespace kerfwright::svg_reader
