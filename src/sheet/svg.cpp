#include "svg.hpp"

#include <algorithm>
#include <array>
#include <charconv>
#include <cmath>
#include <cstdint>

namespace kerfwright::sheet {
namespace {

struct Letter {
  std::uint32_t code;
  std::size_t bytes;
};

constexpr std::uint32_t no_letter = 0xFFFD;

/// The letter of UTF-8 that starts at `at`; bytes that are none count as U+FFFD, one by one.
Letter letter_at(std::string_view text, std::size_t at) {
  const auto byte = [&](std::size_t i) { return static_cast<unsigned char>(text[at + i]); };
  const unsigned char first = byte(0);
  if (first < 0x80) return {first, 1};
  const std::size_t size = first >= 0xF0 ? 4 : first >= 0xE0 ? 3 : 2;
  if (first < 0xC2 || first > 0xF4 || at + size > text.size()) return {no_letter, 1};
  std::uint32_t code = first & (0x7FU >> size);
  for (std::size_t i = 1; i < size; ++i) {
    if ((byte(i) & 0xC0U) != 0x80U) return {no_letter, 1};
    code = (code << 6U) | (byte(i) & 0x3FU);
  }
  constexpr std::array<std::uint32_t, 5> least = {0, 0, 0x80, 0x800, 0x10000};
  const bool surrogate = code >= 0xD800 && code <= 0xDFFF;
  if (code < least[size] || code > 0x10FFFF || surrogate) return {no_letter, 1};
  return {code, size};
}

/// Advance widths of the letters from space to tilde in thousandths of the size, from the hmtx
/// table of DejaVu Sans 2.37, which is wider than most sans serifs.
constexpr std::array<int, 95> advance = {
    318, 401, 460, 838, 636, 950, 780, 275, 390, 390, 500, 838, 318, 361,  318, 337, 636, 636, 636,
    636, 636, 636, 636, 636, 636, 636, 337, 337, 838, 838, 838, 531, 1000, 684, 686, 698, 770, 632,
    575, 775, 752, 295, 295, 656, 557, 863, 748, 787, 603, 787, 695, 635,  611, 732, 684, 989, 685,
    611, 685, 390, 337, 390, 838, 500, 500, 613, 635, 550, 635, 615, 352,  635, 634, 278, 278, 579,
    278, 974, 634, 612, 635, 635, 411, 521, 392, 634, 592, 818, 592, 592,  525, 636, 337, 636, 838};
constexpr double bold_extra =
    0.08;  // what a letter gains in bold, at most 0.08 but for a few capitals

/// Width in units of the size.
double letter_width(std::uint32_t code) {
  if (code >= 0x1100 && code != 0x2013) return 1.05;
  if (code > 0x7E || code < 0x20)
    return code == 0xB7 || code == 0xA0 ? 0.32 : code == 0xB0 || code == 0x2013 ? 0.5 : 0.84;
  return advance[code - 0x20] / 1000.0;
}

std::string coordinates(const Point& p) { return paper(p.x()) + " " + paper(p.y()); }

}  // namespace

bool Box::overlaps(const Box& other) const {
  return low.x() < other.high.x() && other.low.x() < high.x() && low.y() < other.high.y() &&
         other.low.y() < high.y();
}

Box Box::grown(double by) const { return {low - Point::Constant(by), high + Point::Constant(by)}; }

Box bounds(const Path& path) {
  Box box{path.front(), path.front()};
  for (const Point& p : path) {
    box.low = box.low.cwiseMin(p);
    box.high = box.high.cwiseMax(p);
  }
  return box;
}

std::string paper(double value) {
  std::array<char, 64> buffer{};
  const double rounded = std::round(value * 100.0) / 100.0;
  if (!(std::abs(rounded) < 1e9) || rounded == 0.0) return "0";
  const auto end = std::to_chars(buffer.data(), buffer.data() + buffer.size(), rounded,
                                 std::chars_format::fixed, 2);
  std::string text(buffer.data(), end.ptr);
  text.erase(text.find_last_not_of('0') + 1);
  if (text.back() == '.') text.pop_back();
  return text;
}

std::string xml_text(std::string_view text) {
  std::string safe;
  for (std::size_t at = 0; at < text.size();) {
    const auto [code, bytes] = letter_at(text, at);
    if (code == '&') {
      safe += "&amp;";
    } else if (code == '<') {
      safe += "&lt;";
    } else if (code == '>') {
      safe += "&gt;";
    } else if (code == '"') {
      safe += "&quot;";
    } else if (code < 0x20 || code == 0x7F) {
      safe += ' ';
    } else if (code == no_letter || code == 0xFFFE || code == 0xFFFF) {
      safe += "\xEF\xBF\xBD";
    } else {
      safe += text.substr(at, bytes);
    }
    at += bytes;
  }
  return safe;
}

double text_width(std::string_view text, double size, bool bold) {
  double width = 0.0;
  for (std::size_t at = 0; at < text.size();) {
    const auto [code, bytes] = letter_at(text, at);
    width += letter_width(code) + (bold ? bold_extra : 0.0);
    at += bytes;
  }
  return width * size;
}

std::string fitted(std::string_view text, double size, double width, bool bold) {
  if (text_width(text, size, bold) <= width) return std::string(text);
  const double room = width - text_width("…", size, bold);
  std::size_t keep = 0;
  while (keep < text.size()) {
    const std::size_t next = keep + letter_at(text, keep).bytes;
    if (text_width(text.substr(0, next), size, bold) > room) break;
    keep = next;
  }
  return std::string(text.substr(0, keep)) + "…";
}

Box text_box(const Point& at, std::string_view text, const TextStyle& style) {
  const double width = text_width(text, style.size, style.bold);
  const double before = style.anchor == Anchor::start    ? 0.0
                        : style.anchor == Anchor::middle ? width / 2
                                                         : width;
  return {{at.x() - before, at.y() - 0.78 * style.size},
          {at.x() - before + width, at.y() + 0.22 * style.size}};
}

void Svg::begin(const std::string& attributes, const std::string& title) {
  body_ += "<g";
  if (!attributes.empty()) body_ += " ";
  body_ += attributes;
  body_ += ">";
  if (!title.empty()) body_.append("<title>").append(xml_text(title)).append("</title>");
  body_ += "\n";
}

void Svg::end() { body_ += "</g>\n"; }

void Svg::line(const Point& a, const Point& b, std::string_view style) {
  body_.append("<path d=\"M").append(coordinates(a)).append("L").append(coordinates(b));
  body_.append("\" ").append(style).append("/>\n");
}

void Svg::path(const Path& points, bool closed, std::string_view style) {
  if (points.empty()) return;
  body_ += "<path d=\"";
  std::string before;
  for (std::size_t i = 0; i < points.size(); ++i) {
    const std::string here = coordinates(points[i]);
    if (here == before) continue;
    body_.append(i == 0 ? "M" : "L").append(here);
    before = here;
  }
  body_.append(closed ? "Z\" " : "\" ").append(style).append("/>\n");
}

void Svg::circle(const Point& centre, double radius, std::string_view style) {
  body_.append("<circle cx=\"").append(paper(centre.x())).append("\" cy=\"");
  body_.append(paper(centre.y())).append("\" r=\"").append(paper(radius)).append("\" ");
  body_.append(style).append("/>\n");
}

void Svg::rect(const Box& box, std::string_view style) {
  body_.append("<rect x=\"").append(paper(box.low.x())).append("\" y=\"");
  body_.append(paper(box.low.y())).append("\" width=\"").append(paper(box.high.x() - box.low.x()));
  body_.append("\" height=\"").append(paper(box.high.y() - box.low.y())).append("\" ");
  body_.append(style).append("/>\n");
}

void Svg::text(const Point& at, std::string_view text, const TextStyle& style) {
  constexpr std::array<std::string_view, 3> anchors = {"", " text-anchor=\"middle\"",
                                                       " text-anchor=\"end\""};
  body_.append("<text x=\"").append(paper(at.x())).append("\" y=\"").append(paper(at.y()));
  body_.append("\" font-size=\"").append(paper(style.size)).append("\"");
  body_.append(anchors[static_cast<std::size_t>(style.anchor)]);
  if (style.bold) body_ += " font-weight=\"bold\"";
  body_.append(" fill=\"").append(style.fill).append("\">");
  body_.append(xml_text(text)).append("</text>\n");
}

}  // namespace kerfwright::sheet
