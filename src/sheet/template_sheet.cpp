#include "kerfwright/sheet/template_sheet.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "html.hpp"
#include "kerfwright/shape/mark_geometry.hpp"
#include "kerfwright/shape/section.hpp"
#include "kerfwright/trade/scaling.hpp"
#include "lengths.hpp"
#include "look.hpp"
#include "saw_steps.hpp"
#include "stage_words.hpp"

namespace kerfwright {
namespace {

using namespace sheet;

// What A4 and Letter have in common, less 10 mm on each side for the printer.
constexpr double page_width = 190.0;
constexpr double page_height = 256.0;
constexpr double footer = 16.0;   // mm below the drawing: bar and page
constexpr double overlap = 14.0;  // mm that neighbours share
constexpr double tile_width = page_width;
constexpr double tile_height = page_height - footer;
constexpr double bar = 100.0;  // mm
constexpr double inch_bar = 4 * mm_per_inch;

/// A point of the butt as seen from it, mm, x to the right and y down, as the log lay when scanned.
Point seen(const Eigen::Vector2d& yz) { return {-yz.x(), -yz.y()}; }

Path placed(const Outline& outline) {
  Path path;
  for (const auto& yz : outline) path.push_back(seen(yz));
  return path;
}

void draw_cross(Svg& svg, const Point& at, double size, std::string_view style) {
  svg.line(at - Point(size, 0), at + Point(size, 0), style);
  svg.line(at - Point(0, size), at + Point(0, size), style);
}

/// The bark: a whole line where the scan saw it, dashes where it did not.
void draw_bark(Svg& svg, const LogShape& shape, const Path& over) {
  const auto& flags = shape.seen.front();
  const std::size_t count = over.size();
  for (std::size_t j = 0; j < count; ++j) {
    svg.line(over[j], over[(j + 1) % count],
             flags[j] != 0 ? "stroke=\"#000\" stroke-width=\"0.6\" stroke-linecap=\"round\""
                           : "stroke=\"#000\" stroke-width=\"0.6\" stroke-dasharray=\"2 1.4\"");
  }
}

/// The plumb line through the end's centre: up is where the log's top was when it was scanned.
void draw_plumb(Svg& svg, const Point& centre, const Box& box) {
  const Point top(centre.x(), box.low.y() - 6.0);
  svg.line(top, {centre.x(), box.high.y() + 6.0},
           "stroke=\"#000\" stroke-width=\"0.35\" stroke-dasharray=\"6 1.5 1.5 1.5\"");
  svg.path({top, top + Point(-2.2, 4.0), top + Point(2.2, 4.0)}, true, "fill=\"#000\"");
  svg.text(top + Point(4.0, 4.4), "T · plumb", {5.0, Anchor::start, true});
}

/// The trace of a cut's underside on the butt, with its setup and number along it.
void draw_cut(Svg& svg, const LogShape& shape, const Stage& stage, const Cut& cut,
              const Eigen::Vector3d& up) {
  const Outline outline = section_outline_at(shape, 0.0, Bark::on);
  const double face = up.dot(cut.point) - cut.kerf / 2;
  const auto span = span_on_line(outline, up.tail<2>(), face);
  if (!span) return;
  const Point a = seen(span->from);
  const Point b = seen(span->to);
  const Point run = (b - a).normalized();
  svg.line(a - 8.0 * run, b + 8.0 * run, "stroke=\"#000\" stroke-width=\"0.45\"");
  const double angle = std::atan2(run.y(), run.x()) * 180.0 / std::numbers::pi;
  const bool flipped = std::abs(angle) > 90.0;
  const Point middle = (a + b) / 2;
  std::string turn = "transform=\"translate(" + paper(middle.x()) + " " + paper(middle.y()) +
                     ") rotate(" + paper(flipped ? angle + 180.0 : angle) + ")\"";
  svg.begin(turn);
  const std::string words =
      "Setup " + std::to_string(stage.setup) + ", underside of cut " + std::to_string(cut.n);
  const double upwards = Point(run.y(), -run.x()).dot(seen(up.tail<2>())) > 0.0 ? 1.0 : -1.0;
  const bool above = (flipped ? -upwards : upwards) > 0.0;
  svg.text({0, above ? -1.8 : 5.2}, words, {4.4, Anchor::middle});
  svg.end();
}

void draw_first_cuts(Svg& svg, const Steps& steps, const LogShape& shape) {
  for (std::size_t i = 0; i < steps.groups.size(); ++i) {
    const Group& group = steps.groups[i];
    if (group.crosswise) continue;
    const auto ancestry = steps.told->tree.ancestry(group.piece);
    if (reach_of(shape, ancestry).from > 1.0) continue;  // the log's butt is not its end
    draw_cut(svg, shape, steps.steps.stages[i], steps.told->sawn.cuts[group.cuts.front()],
             setup_up(*group.setup, shape.length()));
  }
}

std::string drawing(const Steps& steps, const LogShape& shape, const Path& over) {
  Svg svg;
  const Box box = bounds(over);
  const Point centre = seen(shape.axis.front());
  svg.path(placed(section_outline_at(shape, 0.0, Bark::off)), true,
           "fill=\"none\" stroke=\"#000\" stroke-width=\"0.25\"");
  draw_bark(svg, shape, over);
  draw_plumb(svg, centre, box);
  draw_first_cuts(svg, steps, shape);
  draw_cross(svg, centre, 6.0, "stroke=\"#000\" stroke-width=\"0.5\"");
  svg.text(centre + Point(2.0, -2.0), "centre", {4.4});
  const Point pith = seen(PithLine(shape).at(0.0));
  svg.circle(pith, 2.0, "fill=\"none\" stroke=\"#000\" stroke-width=\"0.5\"");
  svg.text(pith + Point(3.0, 6.0), shape.marks.pith ? "pith" : "pith, if it is in the middle",
           {4.4});
  return svg.body();
}

/// Where the tiles of a side begin; the drawing is centred on them.
std::vector<double> starts(double low, double high, double tile) {
  const double step = tile - overlap;
  const double needed = high - low;
  const int count = std::max(1, static_cast<int>(std::ceil((needed - overlap) / step - 1e-9)));
  const double covered = step * count + overlap;
  std::vector<double> places;
  for (int i = 0; i < count; ++i) places.push_back((low + high - covered) / 2 + step * i);
  return places;
}

/// Crosses in the middle of what neighbours share, at the same places of the drawing on both.
std::string join_marks(const std::vector<double>& columns, const std::vector<double>& rows) {
  Svg svg;
  const char* const style = "stroke=\"#000\" stroke-width=\"0.3\"";
  const auto mark = [&](double x, double y) {
    svg.circle({x, y}, 2.2, "fill=\"none\" stroke=\"#000\" stroke-width=\"0.3\"");
    draw_cross(svg, {x, y}, 4.0, style);
  };
  for (std::size_t c = 1; c < columns.size(); ++c) {
    const double x = columns[c] + overlap / 2;
    svg.line({x, rows.front()}, {x, rows.back() + tile_height},
             "stroke=\"#000\" stroke-width=\"0.2\" stroke-dasharray=\"1 3\"");
    for (const double y : rows) {
      for (const double share : {0.2, 0.5, 0.8}) mark(x, y + share * tile_height);
    }
  }
  for (std::size_t r = 1; r < rows.size(); ++r) {
    const double y = rows[r] + overlap / 2;
    svg.line({columns.front(), y}, {columns.back() + tile_width, y},
             "stroke=\"#000\" stroke-width=\"0.2\" stroke-dasharray=\"1 3\"");
    for (const double x : columns) {
      for (const double share : {0.2, 0.5, 0.8}) mark(x + share * tile_width, y);
    }
  }
  return svg.body();
}

std::string footer_of(const std::string& page, std::size_t pages, const std::string& name,
                      const Lengths& lengths) {
  Svg svg;
  const double y = tile_height + 5.0;
  svg.begin("class=\"bar\"");
  const double up = lengths.inches() ? 2.5 : 0.0;  // so that both bars have room
  svg.rect({Point(4.0, y - up), Point(4.0 + bar, y + 2.0 - up)}, "fill=\"#000\"");
  svg.end();
  if (lengths.inches()) {
    svg.begin("class=\"inches\"");
    svg.rect({Point(4.0, y + 1.5), Point(4.0 + inch_bar, y + 3.5)}, "fill=\"#000\"");
    svg.end();
    svg.text({4.0, y + 8.6},
             "100 mm above, " + lengths.text(inch_bar) + " below. If not, print at 100 %.", {4.0});
  } else {
    svg.text({4.0, y + 7.6}, "This bar is " + lengths.text(bar) + " long. If not, print at 100 %.",
             {4.0});
  }
  svg.text({page_width - 14.0, y + 3.0}, fitted("Butt of " + name, 4.0, 66.0), {4.0, Anchor::end});
  svg.text({page_width - 14.0, y + 7.6}, "one of " + std::to_string(pages) + " pages",
           {4.0, Anchor::end});
  svg.text({page_width, y + 7.0}, page, {9.0, Anchor::end, true});
  return svg.body();
}

/// One page: the part of the drawing that lies in its window.
std::string page(const Point& corner, const std::string& content, const std::string& foot,
                 const std::string& id) {
  std::string text =
      "<svg class=\"page\" viewBox=\"0 0 " + paper(page_width) + " " + paper(page_height) +
      "\">\n<clipPath id=\"" + id + "\"><rect width=\"" + paper(tile_width) + "\" height=\"" +
      paper(tile_height) + "\"/></clipPath>\n<g clip-path=\"url(#" + id +
      ")\"><g transform=\"translate(" + paper(-corner.x()) + " " + paper(-corner.y()) + ")\">\n";
  return text + content + "</g></g>\n" + foot + "</svg>\n";
}

const char* const style = R"(
body { margin: 0; color: #000; background: #fff;
  font: 15px/1.4 Helvetica, Arial, 'Liberation Sans', 'DejaVu Sans', sans-serif; }
.page { display: block; width: 190mm; height: 256mm; break-after: page; }
.page:last-of-type { break-after: auto; }
.hint { padding: 12px; max-width: 40rem; }
@page { margin: 10mm; }
@media print { .hint { display: none; } }
@media screen { .page { border: 1px solid #000; margin: 12px; } }
)";

/// Letters from left to right, numbers from above.
std::string page_name(std::size_t column, std::size_t row) {
  std::string name(1, static_cast<char>('A' + column % 26));
  return name + std::to_string(row + 1);
}

}  // namespace

std::string template_html(const SawPlan& plan, const LogShape& shape) {
  const Steps steps = told_stages(plan, shape);
  const Path over = placed(section_outline_at(shape, 0.0, Bark::on));
  const Box box = bounds(over).grown(10.0);
  const auto columns = starts(box.low.x(), box.high.x(), tile_width);
  const auto rows = starts(box.low.y(), box.high.y(), tile_height);
  const std::string content = drawing(steps, shape, over) + join_marks(columns, rows);
  std::string text =
      "<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\"/>\n"
      "<meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; style-src "
      "'unsafe-inline'\"/>\n";
  text.append("<title>").append(xml_text("Template of " + shape.source.file)).append("</title>\n");
  text.append("<style>").append(style).append("</style>\n</head>\n<body>\n");
  text += html::element("p", "hint",
                        "Print at 100 %, without fitting to the page, on A4 or Letter. Measure the "
                        "bar. Trim along the dotted lines, join the pages at their crosses, cut "
                        "round the bark and glue the template on the butt, its plumb line where "
                        "the log’s top was when it was scanned.");
  for (std::size_t r = 0; r < rows.size(); ++r) {
    for (std::size_t c = 0; c < columns.size(); ++c) {
      const std::string foot = footer_of(page_name(c, r), columns.size() * rows.size(),
                                         shape.source.file, Lengths(plan.mill));
      const std::string id = "window" + std::to_string(r) + "-" + std::to_string(c);
      text += page({columns[c], rows[r]}, content, foot, id);
    }
  }
  return text + "</body>\n</html>\n";
}

}  // namespace kerfwright
