#include "section_view.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>

#include "kerfwright/shape/section.hpp"
#include "labels.hpp"
#include "lengths.hpp"
#include "look.hpp"
#include "section_labels.hpp"
#include "section_sheet.hpp"

namespace kerfwright::sheet {
namespace {

constexpr double caption_room = 4.6;  // above it

/// The log's own end or middle, so that rounding does not ask beyond it.
std::size_t nearest_station(const LogShape& shape, double x) {
  const auto after = std::lower_bound(shape.stations.begin(), shape.stations.end(), x - 1e-9);
  return std::min<std::size_t>(static_cast<std::size_t>(after - shape.stations.begin()),
                               shape.stations.size() - 1);
}

/// What is left of the log by earlier cuts.
void draw_piece(Svg& svg, const Sheet& sheet) {
  const LogShape& shape = sheet.subject.shape;
  const auto& piece = sheet.sections.piece;
  const Path over = sheet.path(piece_section(shape, sheet.x, Bark::on, piece));
  svg.path(over, true, look::bark);
  svg.path(sheet.path(piece_section(shape, sheet.x, Bark::off, piece)), true, look::wood);
  svg.path(over, true, look::outline);
}

void draw_outline(Svg& svg, const Sheet& sheet) {
  if (!sheet.sections.piece.empty()) return draw_piece(svg, sheet);
  const LogShape& shape = sheet.subject.shape;
  const Polygon over = section_outline_at(shape, sheet.x, Bark::on);
  svg.path(sheet.path(over), true, look::bark);
  svg.path(sheet.path(section_outline_at(shape, sheet.x, Bark::off)), true, look::wood);
  const auto& flags = shape.seen[nearest_station(shape, sheet.x)];
  const std::size_t count = over.size();
  // Each stretch of one kind is one line, so that its dashes run on; start where the kind changes.
  std::size_t start = 0;
  while (start < count && flags[start] == flags[(start + count - 1) % count]) ++start;
  if (start == count) {
    svg.path(sheet.path(over), true, flags[0] != 0 ? look::seen : look::unseen);
    return;
  }
  for (std::size_t i = 0; i < count;) {
    const auto flag = flags[(start + i) % count];
    Path stretch;
    for (; i < count && flags[(start + i) % count] == flag; ++i) {
      stretch.push_back(sheet.at(over[(start + i) % count]));
    }
    stretch.push_back(sheet.at(over[(start + i) % count]));
    svg.path(stretch, false, flag != 0 ? look::seen : look::unseen);
  }
}

/// Whether a plane looks more like a lying line than a standing one.
bool is_lying(const Frame& frame, const Eigen::Vector3d& normal) {
  return std::abs(normal.dot(frame.up)) >= std::abs(normal.dot(frame.left));
}

/// The stretch of a plane in a piece at this section, from left (or top) to right (or bottom) on
/// paper.
std::optional<Path> line_in_piece(const Sheet& sheet, const std::vector<Side>& ancestry,
                                  const Eigen::Vector3d& normal, double offset, Bark bark) {
  const Polygon section = piece_section(sheet.subject.shape, sheet.x, bark,
                                        sheet.sections.bed ? lengthwise(ancestry) : ancestry);
  const auto span = span_on_line(section, normal.tail<2>(), offset - normal.x() * sheet.x);
  if (!span) return std::nullopt;
  Path ends = {sheet.at(span->from), sheet.at(span->to)};
  const Point run = ends[1] - ends[0];
  if (run[is_lying(sheet.view(), normal) ? 0 : 1] < 0.0) std::swap(ends[0], ends[1]);
  return ends;
}

/// How high on paper a cut runs that is still to be made and meets the piece elsewhere only, as
/// level as all cuts of a setup: who stands at the end sees the blade go over or under it.
std::optional<double> height_beyond(const Sheet& sheet, const Cut& cut) {
  const bool is_shown = sheet.sections.bed && cut.n > sheet.subject.plan.done;
  if (!is_shown || std::abs(cut.normal.dot(sheet.view().up)) < 0.7) return std::nullopt;
  const Eigen::Vector2d across = cut.normal.tail<2>();
  const double away = cut.normal.dot(cut.point) - cut.normal.x() * sheet.x;
  return sheet.at(Eigen::Vector2d(away / across.squaredNorm() * across)).y();
}

void draw_cuts(Svg& svg, const Sheet& sheet) {
  const PieceTree tree(sheet.subject.plan);
  std::vector<EndLabel> right;
  std::vector<EndLabel> below;
  std::vector<std::pair<Path, double>> lines;
  std::vector<Path> beyond;
  for (const Cut* cut : sheet.sections.cuts) {
    const auto ends = line_in_piece(sheet, tree.ancestry(cut->piece), cut->normal,
                                    cut->normal.dot(cut->point), Bark::on);
    if (!ends) {
      const auto y = height_beyond(sheet, *cut);
      if (!y) continue;
      beyond.push_back({{sheet.frame.low.x(), *y}, {sheet.frame.high.x(), *y}});
      right.push_back({beyond.back().back(), sheet.sections.label(*cut)});
      continue;
    }
    lines.emplace_back(*ends, cut->kerf / sheet.scale);
    const bool lying = is_lying(sheet.view(), cut->normal);
    (lying ? right : below).push_back({(*ends)[1], sheet.sections.label(*cut)});
  }
  for (const auto& [ends, width] : lines) svg.path(ends, false, look::dust(std::max(width, 0.3)));
  for (const auto& [ends, width] : lines) svg.path(ends, false, look::cut);
  for (const Path& line : beyond) svg.path(line, false, look::cut_beyond);
  draw_labels(svg, sheet.frame, sheet.cell, right, Edge::right, true);
  draw_labels(svg, sheet.frame, sheet.cell, below, Edge::below, true);
}

void draw_letters(Svg& svg, const Sheet& sheet) {
  std::vector<EndLabel> left;
  std::vector<EndLabel> above;
  for (const Flitch* flitch : sheet.sections.flitches) {
    const auto ends = line_in_piece(sheet, flitch->ancestry, flitch->frame.up,
                                    (flitch->low + flitch->high) / 2, Bark::off);
    if (!ends) continue;
    const bool lying = is_lying(sheet.view(), flitch->frame.up);
    (lying ? left : above).push_back({(*ends)[0], flitch->letter});
  }
  draw_labels(svg, sheet.frame, sheet.cell, left, Edge::left, false);
  draw_labels(svg, sheet.frame, sheet.cell, above, Edge::above, false);
}

/// The centre of the section, to measure its height over the bed.
void draw_centre(Svg& svg, const Sheet& sheet) {
  const Eigen::Vector2d centre = axis_at(sheet.subject.shape, sheet.x);
  if (!contains(piece_section(sheet.subject.shape, sheet.x, Bark::on, sheet.sections.piece),
                centre)) {
    return;
  }
  const Point place = sheet.at(centre);
  svg.circle(place, 1.1, "fill=\"#fff\" stroke=\"none\"");
  svg.line(place - Point(1.6, 0), place + Point(1.6, 0), look::rule);
  svg.line(place - Point(0, 1.6), place + Point(0, 1.6), look::rule);
}

/// A wedge on the bark where the log's top was when it was scanned, if it is still there.
void draw_marks(Svg& svg, const Sheet& sheet) {
  const LogShape& shape = sheet.subject.shape;
  if (sheet.sections.bed) draw_centre(svg, sheet);
  const Polygon outline = section_outline_at(shape, sheet.x, Bark::on);
  const auto quarter = static_cast<std::size_t>(std::lround(shape.angles / 4.0)) % outline.size();
  const Eigen::Vector2d just_inside =
      outline[quarter] + 0.02 * (axis_at(shape, sheet.x) - outline[quarter]);
  if (!contains(piece_section(shape, sheet.x, Bark::on, sheet.sections.piece), just_inside)) return;
  const Point tip = sheet.at(outline[quarter]);
  const Point out =
      (sheet.at(Eigen::Vector2d(0, 1)) - sheet.at(Eigen::Vector2d(0, 0))).normalized();
  const Point side(-out.y(), out.x());
  svg.path({tip + 0.2 * out, tip + 1.7 * out + 0.9 * side, tip + 1.7 * out - 0.9 * side}, true,
           "fill=\"#1a1a1a\" stroke=\"none\"");
  const Point letter = tip + 3.1 * out;
  svg.circle(letter, 1.35, "fill=\"#fff\" stroke=\"none\"");
  svg.text(letter + Point(0, 0.365 * 2.8), "T", {2.8, Anchor::middle, true});
}

/// The bed as a line with strokes under it, where the piece lies on one.
void draw_bed(Svg& svg, const Sheet& sheet) {
  if (!sheet.sections.bed) return;
  const double y = sheet.origin.y() - *sheet.sections.bed / sheet.scale;
  const double left = sheet.frame.low.x() - 3.0;
  const double right = sheet.frame.high.x() + 3.0;
  svg.line({left, y}, {right, y}, look::frame);
  for (double x = left + 1.5; x <= right; x += 2.5) {
    svg.line({x, y}, {x - 1.2, y + 1.4}, look::rule);
  }
}

void draw_caption(Svg& svg, const Point& corner, double width, const std::string& name,
                  const std::string& place) {
  const Point base = corner + Point(1.0, 3.2);
  svg.text(base, name, {3.6, Anchor::start, true});
  const double after = text_width(name, 3.6, true) + 2.0;
  svg.text(base + Point(after, 0), place, {3.0});
  const Point arrow = corner + Point(width - 9.0, 0.4);
  svg.path({arrow + Point(0, 3.2), arrow}, false, look::rule);
  svg.path({arrow + Point(-1.0, 1.6), arrow, arrow + Point(1.0, 1.6)}, false, look::rule);
  svg.text(arrow + Point(1.6, 2.8), "up", {3.0});
}

/// How many of the cuts the section may show, as lying lines or as standing ones.
std::size_t count_cuts(const Sheet& sheet, bool lying) {
  const PieceTree tree(sheet.subject.plan);
  const auto counts = [&](const Cut* cut) {
    if (is_lying(sheet.view(), cut->normal) != lying) return false;
    return !sheet.place.part || tree.comes_of(cut->piece, sheet.place.part->name);
  };
  return static_cast<std::size_t>(
      std::count_if(sheet.sections.cuts.begin(), sheet.sections.cuts.end(), counts));
}

std::size_t count_standing_flitches(const Sheet& sheet) {
  return static_cast<std::size_t>(std::count_if(
      sheet.sections.flitches.begin(), sheet.sections.flitches.end(),
      [&](const Flitch* flitch) { return !is_lying(sheet.view(), flitch->frame.up); }));
}

}  // namespace

Sections all_sections(const Subject& subject) {
  Sections sections;
  const double length = subject.shape.length();
  sections.places = {{"section-butt", "Butt", 0.0},
                     {"section-middle", "Middle", length / 2},
                     {"section-top", "Top", length}};
  if (!parting_cuts(subject.plan).empty()) {
    sections.places.clear();
    for (const Lying& part : lying_parts(subject.plan, length)) {
      sections.places.push_back(
          {"section-" + part.name, "Part " + part.name, (part.from + part.to) / 2, part});
    }
  }
  for (const Cut& cut : subject.plan.cuts) {
    if (is_mill_cut(subject.plan, cut)) sections.cuts.push_back(&cut);
  }
  for (const Board& board : subject.plan.boards) sections.boards.push_back(&board);
  for (const Flitch& flitch : subject.flitches) sections.flitches.push_back(&flitch);
  sections.label = [](const Cut& cut) { return std::to_string(cut.n); };
  return sections;
}

SectionView::SectionView(const Subject& subject, Sections sections, double cell_width)
    : subject_(subject),
      sections_(std::move(sections)),
      cell_width_(cell_width),
      extent_{Point(1e9, 1e9), Point(-1e9, -1e9)} {
  std::size_t lying = 0;
  std::size_t standing = 0;
  std::size_t standing_flitches = 0;
  for (const auto& place : sections_.places) {
    const Sheet sheet{subject, sections_, place, place.x, Point(0, 0), 1.0, {}, {}};
    Box outline{Point(1e9, 1e9), Point(-1e9, -1e9)};
    for (const auto& p : piece_section(subject.shape, place.x, Bark::on, sections_.piece)) {
      outline.low = outline.low.cwiseMin(sheet.at(p));
      outline.high = outline.high.cwiseMax(sheet.at(p));
    }
    for (const Cut* cut : sections_.cuts) {
      const auto y = height_beyond(sheet, *cut);
      if (!y) continue;
      outline.low.y() = std::min(outline.low.y(), *y);
      outline.high.y() = std::max(outline.high.y(), *y);
    }
    // Parts are drawn each about its own middle, sections of one piece about the log's chord.
    shifts_.emplace_back(0, 0);
    if (place.part) shifts_.back() = -0.5 * (outline.low + outline.high);
    extent_.low = extent_.low.cwiseMin(outline.low + shifts_.back());
    extent_.high = extent_.high.cwiseMax(outline.high + shifts_.back());
    lying = std::max(lying, count_cuts(sheet, true));
    standing = std::max(standing, count_cuts(sheet, false));
    standing_flitches = std::max(standing_flitches, count_standing_flitches(sheet));
  }
  if (sections_.bed) extent_.high.y() = std::max(extent_.high.y(), -*sections_.bed);
  const auto rows = [&](std::size_t count) {
    return count == 0 ? 0.0 : label_room * static_cast<double>(label_rows(count, cell_width));
  };
  above_ = caption_room + label_gap + rows(standing_flitches);
  below_ = label_gap + rows(standing);
  column_ = label_row * static_cast<double>(lying) - 2 * column_margin;
}

double SectionView::width(double scale) const {
  return (extent_.high.x() - extent_.low.x()) / scale + 2 * sections_.side_room;
}

double SectionView::size(double scale) const {
  return (extent_.high - extent_.low).maxCoeff() / scale;
}

double SectionView::body_height(double scale) const {
  return std::max(column_, (extent_.high.y() - extent_.low.y()) / scale);
}

double SectionView::height(double scale) const { return body_height(scale) + above_ + below_; }

void SectionView::draw(Svg& svg, const Point& corner, double scale) const {
  const Point size = (extent_.high - extent_.low) / scale;
  const Point body(size.x(), body_height(scale));
  for (std::size_t i = 0; i < sections_.places.size(); ++i) {
    const auto& place = sections_.places[i];
    const Point cell = corner + Point(static_cast<double>(i) * cell_width_, 0);
    const Point frame = cell + Point((cell_width_ - size.x()) / 2, above_);
    const Point origin =
        frame + Point(0, (body.y() - size.y()) / 2) - (extent_.low - shifts_[i]) / scale;
    const Sheet sheet{subject_,
                      sections_,
                      place,
                      place.x,
                      origin,
                      scale,
                      {frame, frame + body},
                      {cell, cell + Point(cell_width_, height(scale))}};
    svg.begin("id=\"" + xml_text(place.id) + "\"");
    draw_caption(svg, cell, cell_width_, place.name, Lengths(subject_.plan.mill).text(place.x));
    draw_bed(svg, sheet);
    draw_outline(svg, sheet);
    draw_cuts(svg, sheet);
    draw_letters(svg, sheet);
    draw_marks(svg, sheet);
    draw_boards(svg, sheet);
    svg.end();
  }
}

}  // namespace kerfwright::sheet
