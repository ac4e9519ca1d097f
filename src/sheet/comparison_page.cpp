#include <cstdio>

#include "comparison_rows.hpp"
#include "html.hpp"
#include "kerfwright/shape/measure.hpp"
#include "kerfwright/sheet/cut_map.hpp"
#include "look.hpp"

namespace kerfwright {
namespace {

using namespace sheet;
using html::element;

// Black on white; the best way is framed and named, not only coloured.
const char* const style = R"(
:root { font: 16px/1.35 Helvetica, Arial, 'Liberation Sans', 'DejaVu Sans', sans-serif; }
body { margin: 0 auto; padding: 12px; color: #000; background: #fff; }
h1 { font-size: 1.5rem; margin: 0 0 .3rem; overflow-wrap: anywhere; }
.verdict { font-size: 1.4rem; font-weight: bold; border-left: 8px solid #000; padding-left: .6rem; margin: .6rem 0; }
.wide { overflow-x: auto; }
table { border-collapse: separate; border-spacing: 0; margin: .8rem 0; }
th, td { text-align: right; padding: .3rem .6rem; line-height: 1.5rem; border-bottom: 1px solid #000; white-space: nowrap; }
th:first-child, td:first-child { text-align: left; position: sticky; left: 0; background: #fff; }
tr.best td { font-weight: bold; border-bottom: 3px solid #000; border-top: 3px solid #000; }
.why { max-width: 60rem; margin: .3rem 0; }
.maps { margin-top: 1rem; display: grid; grid-template-columns: repeat(auto-fill, minmax(min(26rem, 100%), 1fr)); gap: 1rem; }
figure { margin: 0; border: 1px solid #000; padding: .4rem; break-inside: avoid; }
figure.best { border-width: 4px; }
figcaption { font-size: 1.15rem; font-weight: bold; }
img { display: block; width: 100%; }
@media print {
  @page { size: landscape; margin: 10mm; }
  :root { font-size: 10pt; }
  .wide { overflow: visible; }
  th, td { padding: .25rem .4rem; }
  th:first-child, td:first-child { position: static; }
  thead { break-after: avoid; }
  .maps { grid-template-columns: 1fr 1fr; }
}
)";

/// An SVG as an address that holds all of it, so that ids of two drawings never meet.
std::string as_address(const std::string& svg) {
  std::string text = "data:image/svg+xml,";
  for (const char c : svg) {
    const bool plain = (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || (c >= '0' && c <= '9') ||
                       std::string_view(" -_.~/:;=,()'").find(c) != std::string_view::npos;
    if (plain) {
      text += c;
      continue;
    }
    char code[4];
    std::snprintf(code, sizeof code, "%%%02X",
                  static_cast<unsigned>(static_cast<unsigned char>(c)));
    text += code;
  }
  return text;
}

std::string row(const std::vector<Way>& ways, const Way& way, bool best) {
  std::string name = xml_text(way.name);
  if (!way.folder.empty()) {
    name = "<a href=\"" + xml_text(way.folder) + "/saw-sheet.html\">" + name + "</a>";
  }
  std::string cells = element("td", "", name);
  for (const std::string& cell : comparison_cells(ways, *way.plan)) {
    cells += element("td", "", xml_text(cell));
  }
  return element("tr", best ? "best" : "", cells) + "\n";
}

std::string table(const std::vector<Way>& ways, const std::vector<std::size_t>& order) {
  std::string heads = element("th", "", "way");
  for (const std::string& head : comparison_heads(ways)) heads += element("th", "", xml_text(head));
  std::string text = "<table>\n" + element("thead", "", element("tr", "", heads)) + "\n";
  std::string without;  // below the table, which a phone shows a part of
  for (std::size_t i = 0; i < order.size(); ++i) {
    const Way& way = ways[order[i]];
    if (way.plan) {
      text += row(ways, way, i == 0);
    } else {
      without +=
          element("p", "why", xml_text(way.name + ": " + why_not_words(way, lengths_of(ways)))) +
          "\n";
    }
  }
  return element("div", "wide", text + "</table>") + "\n" + without;
}

std::string map_of(const Way& way, const Rank& rank, const LogShape& shape, bool best) {
  const std::string caption = xml_text(way.name) + ": " + look::rounded(rank(*way.plan), 2) + " " +
                              xml_text(way.plan->order.currency) + rank.word();
  return element("figure", best ? "best" : "",
                 element("figcaption", "", caption) + "<a href=\"" + xml_text(way.folder) +
                     "/cut-map.svg\"><img alt=\"Cut map: " + caption + "\" src=\"" +
                     as_address(cut_map_svg(*way.plan, shape)) + "\"/></a>") +
         "\n";
}

}  // namespace

std::string comparison_html(const std::vector<Way>& ways, const LogShape& shape) {
  const auto order = ranking(ways);
  const Rank rank(ways);
  const LogMeasures measures = measure(shape);
  const std::string title = "Ways of sawing compared: " + shape.source.file;
  std::string text = html::page_head("", "; img-src data:", title, style) + "<body>\n" +
                     element("h1", "", xml_text(title)) + "\n";
  const Lengths lengths = lengths_of(ways);
  text += element("p", "",
                  "Log of " + lengths.text(measures.length) + ", ⌀ under bark " +
                      lengths.number(measures.butt.mean_under_bark) + " at the butt, " +
                      lengths.number(measures.top.mean_under_bark) + " at the top. Lengths in " +
                      lengths.units() + ", money in " +
                      xml_text(order.empty() || !ways[order.front()].plan
                                   ? ""
                                   : ways[order.front()].plan->order.currency) +
                      ".") +
          "\n";
  text += element("p", "verdict", xml_text(verdict(ways))) + "\n" + table(ways, order);
  text += "<div class=\"maps\">\n";
  for (std::size_t i = 0; i < order.size(); ++i) {
    const Way& way = ways[order[i]];
    if (way.plan) text += map_of(way, rank, shape, i == 0);
  }
  return text + "</div>\n</body>\n</html>\n";
}

}  // namespace kerfwright
