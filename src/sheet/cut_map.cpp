#include "kerfwright/sheet/cut_map.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <optional>

#include "flitch_view.hpp"
#include "length_view.hpp"
#include "look.hpp"
#include "page.hpp"
#include "section_view.hpp"
#include "tables.hpp"

namespace kerfwright {
namespace {

using namespace sheet;

constexpr double page_width = 210.0;  // A4 upright, as a telephone is held
constexpr double page_height = 297.0;
constexpr double margin = 9.0;
constexpr double width = page_width - 2 * margin;
constexpr double between = 2.5;         // mm between drawings, one above another
constexpr double beside = 5.0;          // mm between drawings side by side
constexpr double good_length = 50.0;    // mm of paper for the length of a log, with full drawings
constexpr double least_length = 40.0;   // and with brief ones
constexpr double least_section = 28.0;  // mm of paper for the section of a log
constexpr double facts_width = 66.0;
constexpr int fact_columns = 3;

/// Scales to choose from, mm of log on one mm of paper: whole numbers, further apart where they are
/// large.
std::vector<double> known_scales() {
  std::vector<double> scales = {1, 1.5, 2, 2.5};
  for (double scale = 3; scale <= 400; scale += scale < 50 ? 1 : scale < 100 ? 5 : 25) {
    scales.push_back(scale);
  }
  return scales;
}

/// Where the figures go when they fill rows from left to right.
struct Packing {
  std::vector<Point> corners;
  std::vector<std::size_t> rows;  ///< the row of each
  double height = 0;
};

struct Layout {
  Scales scales;
  Packing packing;
  std::size_t shown = 0;  ///< how many of the figures have a place
};

/// All drawings at the scale of the lengths, and where they go.
struct Arrangement {
  std::vector<Figure> figures;
  Layout layout;
};

std::optional<Packing> pack(const std::vector<Figure>& figures, double scale) {
  Packing packing;
  Point at(0, 0);
  double row_height = 0.0;
  std::size_t row = 0;
  for (const Figure& figure : figures) {
    const Point size = figure.size(scale);
    if (size.x() > width) return std::nullopt;
    if (at.x() > 0.0 && at.x() + size.x() > width) {
      at = Point(0, at.y() + row_height + between);
      row_height = 0.0;
      ++row;
    }
    packing.corners.push_back(at);
    packing.rows.push_back(row);
    at.x() += size.x() + beside;
    row_height = std::max(row_height, size.y());
  }
  packing.height = at.y() + row_height;
  return packing;
}

/// The largest scale, down to `smallest`, at which the figures fit into a height.
std::optional<Layout> fit_lengths(const std::vector<Figure>& figures, double section_scale,
                                  double smallest, double height) {
  for (const double scale : known_scales()) {
    if (scale > smallest) break;
    const auto packing = pack(figures, scale);
    if (packing && packing->height <= height) {
      return Layout{{section_scale, scale}, *packing, figures.size()};
    }
  }
  return std::nullopt;
}

/// The scales of sections and lengths share the height. Lengths count for more: their drawings
/// carry the distances to mark.
std::optional<Layout> best_layout(const SectionView& sections, const std::vector<Figure>& figures,
                                  double smallest, double height) {
  std::optional<Layout> best;
  double best_score = 1e9;
  for (const double scale : known_scales()) {
    if (sections.width(scale) > width / 3 || sections.size(scale) < least_section) continue;
    const auto layout =
        fit_lengths(figures, scale, smallest, height - sections.height(scale) - between);
    if (!layout) continue;
    const double score = std::log(scale) + 1.2 * std::log(layout->scales.lengths);
    if (score < best_score - 1e-9) {
      best = layout;
      best_score = score;
    }
  }
  return best;
}

std::vector<Figure> figures_of(const Subject& subject, Detail detail) {
  std::vector<Figure> figures = {length_view(subject, Looking::from_right),
                                 length_view(subject, Looking::from_above)};
  for (const Flitch& flitch : subject.flitches) {
    figures.push_back(flitch_view(subject, flitch, detail));
  }
  return figures;
}

/// Full drawings where a log's length keeps `good_length` of paper, else brief ones. Where there is
/// no room for those at `least_length` the last flitches are left out, and the sheet says so.
Arrangement arrange(const Subject& subject, const SectionView& sections, double height) {
  const double length = subject.shape.length();
  auto figures = figures_of(subject, Detail::full);
  if (const auto layout = best_layout(sections, figures, length / good_length, height)) {
    return {figures, *layout};
  }
  figures = figures_of(subject, Detail::brief);
  for (std::size_t shown = figures.size(); shown > 0; --shown) {
    const std::vector<Figure> some(figures.begin(),
                                   figures.begin() + static_cast<std::ptrdiff_t>(shown));
    const double room =
        shown < figures.size() ? height - 4.0 : height;  // for the sentence about it
    if (const auto layout = best_layout(sections, some, length / least_length, room)) {
      return {figures, *layout};
    }
  }
  return {figures, {{known_scales().back(), known_scales().back()}, {}, 0}};
}

void draw_figures(Svg& svg, const std::vector<Figure>& figures, const Layout& layout, double top,
                  double height) {
  const std::size_t rows = layout.packing.rows.empty() ? 0 : layout.packing.rows.back() + 1;
  // Room that is left goes between the rows, within reason.
  const double spare = std::max(0.0, height - layout.packing.height);
  const double extra = std::min(8.0, spare / static_cast<double>(rows + 1));
  for (std::size_t i = 0; i < layout.shown; ++i) {
    const double down = extra * static_cast<double>(layout.packing.rows[i] + 1);
    figures[i].draw(svg, Point(margin, top + down) + layout.packing.corners[i],
                    layout.scales.lengths);
  }
}

void draw_drawings(Svg& svg, const SectionView& sections, const Arrangement& arrangement,
                   double top, double bottom) {
  const auto& [figures, layout] = arrangement;
  sections.draw(svg, {margin, top}, layout.scales.sections);
  const double under = top + sections.height(layout.scales.sections) + between;
  const bool all = layout.shown == figures.size();
  draw_figures(svg, figures, layout, under, bottom - under - (all ? 0.0 : 4.0));
  if (all) return;
  svg.text({page_width / 2, bottom - 0.6},
           std::to_string(figures.size() - layout.shown) +
               " more flitches have no room here and stand on the saw sheet",
           {3.0, Anchor::middle, true});
}

/// The table of boards stands beside the facts or above them, whichever is lower.
struct Tables {
  bool side_by_side;
  double height;
  double boards_width, boards_height;
};

Tables arrange_tables(const Subject& subject) {
  const double beside_width = width - facts_width - 4.0;
  const double boards = board_panel(subject, beside_width).height;
  const double beside_height = std::max(boards, fact_panel(subject, {1, 1}, 1).height);
  const double wide_boards = board_panel(subject, width).height;
  const double below_height = wide_boards + 2.0 + fact_panel(subject, {1, 1}, fact_columns).height;
  if (beside_height <= below_height) return {true, beside_height, beside_width, boards};
  return {false, below_height, width, wide_boards};
}

void draw_tables(Svg& svg, const Subject& subject, const Tables& tables, const Scales& scales,
                 double top) {
  board_panel(subject, tables.boards_width).draw(svg, {margin, top}, tables.boards_width);
  if (tables.side_by_side) {
    fact_panel(subject, scales, 1).draw(svg, {page_width - margin - facts_width, top}, facts_width);
  } else {
    const double below = top + tables.boards_height + 2.0;
    svg.line({margin, below - 1.0}, {page_width - margin, below - 1.0}, look::leader);
    fact_panel(subject, scales, fact_columns).draw(svg, {margin, below}, width);
  }
}

void draw_rule(Svg& svg, double y) {
  svg.line({margin - 3, y}, {page_width - margin + 3, y}, look::rule);
}

}  // namespace

std::string cut_map_svg(const SawPlan& plan, const LogShape& shape) {
  const Subject subject{plan, shape, find_flitches(plan, shape),
                        frame_of(main_setup(plan), shape.length())};
  const SectionView sections(subject, all_sections(subject), width / 3);
  const Panel heading = heading_panel(subject);
  const Panel notes = note_panel(subject, width);
  const Tables tables = arrange_tables(subject);
  const double top = margin + heading.height;
  const double notes_top = page_height - margin - notes.height;
  const double tables_top = notes_top - 2.0 - tables.height;
  const Arrangement arrangement = arrange(subject, sections, tables_top - 2.0 - top);

  Svg svg;
  svg.rect({Point(0, 0), Point(page_width, page_height)}, "fill=\"#fff\"");
  svg.rect(
      {Point(margin - 3, margin - 3), Point(page_width - margin + 3, page_height - margin + 3)},
      look::frame);
  heading.draw(svg, {margin, margin}, width);
  draw_drawings(svg, sections, arrangement, top, tables_top - 2.0);
  draw_rule(svg, tables_top - 1.0);
  draw_tables(svg, subject, tables, arrangement.layout.scales, tables_top);
  draw_rule(svg, notes_top - 1.0);
  notes.draw(svg, {margin, notes_top}, width);
  return a4_svg("Cut map of " + shape.source.file, plan, svg.body());
}

}  // namespace kerfwright
