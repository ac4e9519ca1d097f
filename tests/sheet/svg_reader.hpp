#pragma once

#include <array>
#include <string>
#include <vector>

/// What an SVG file holds, read by libxml2 so that the writer does not judge itself.
namespace kerfwright::svg_reader {

struct Text {
  std::string words;
  std::string group;  ///< id of the nearest group around it that has one
  double x = 0, y = 0, size = 0;
  std::string anchor;
  bool bold = false;
};

struct Shape {
  std::string path;   ///< the d of a <path>
  std::string style;  ///< its fill and stroke, one after the other
  std::string group;
  std::string title;  ///< of the group right around it
  double stroke = 0;
  bool dashed = false;
};

struct Drawing {
  bool well_formed = false;
  std::string width, height, view_box;
  std::vector<std::string> titles;
  std::vector<Text> texts;
  std::vector<Shape> shapes;
};

Drawing read(const std::string& svg);

/// Left, top, right, bottom of a text, its letters 0.6 of the size wide on average (digits of a
/// wide sans serif are 0.64) and, from base line to top of a capital, 0.73 high.
std::array<double, 4> box(const Text& text);
bool overlap(const Text& a, const Text& b);

/// The points of a path, x y x y …
std::vector<double> points(const std::string& path);

}  // namespace kerfwright::svg_reader
