#include "stage_view.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "lengths.hpp"
#include "look.hpp"
#include "tables.hpp"

namespace kerfwright::sheet {
namespace {

constexpr double figure_width = 84.0;  // mm of paper, shown as wide as the page allows
constexpr double figure_height = 96.0;
constexpr double label_side = 5.5;  // mm beside a section before a cut's label

std::string with_unit(double width, double height, const std::string& name,
                      const std::string& body) {
  std::string text = "<svg class=\"figure\" role=\"img\" aria-label=\"";
  text.append(xml_text(name)).append("\" viewBox=\"0 0 ").append(paper(width)).append(" ");
  text.append(paper(height)).append("\">\n").append(body).append("</svg>\n");
  return text;
}

/// The largest scale of some steps at which a section fits a figure.
double scale_for(const SectionView& view) {
  double scale = 0.5;
  while ((view.width(scale) > figure_width || view.height(scale) > figure_height) &&
         scale < 400.0) {
    scale *= 1.02;
  }
  return scale;
}

}  // namespace

StageSubject stage_subject(const Steps& steps, const LogShape& shape, std::size_t index) {
  const SawPlan& plan = steps.told->sawn;
  const PieceTree& tree = steps.told->tree;
  const Group& group = steps.groups[index];
  const Stage& stage = steps.steps.stages[index];
  const Frame frame = frame_of(*group.setup, shape.length());
  StageSubject result{{plan, shape, steps.flitches, frame}, {}};
  Sections& sections = result.sections;
  const auto ancestry = tree.ancestry(group.piece);
  sections.piece = lengthwise(ancestry);
  const Reach reach = reach_of(shape, ancestry);
  const std::string id = "stage-" + std::to_string(index + 1);
  sections.places = {{id + "-butt", "Butt end", reach.from},
                     {id + "-middle", "Middle", (reach.from + reach.to) / 2},
                     {id + "-top", "Top end", reach.to}};
  for (const std::size_t i : group.cuts) sections.cuts.push_back(&plan.cuts[i]);
  for (const Board& board : plan.boards) {
    if (tree.comes_of(board.piece, group.piece)) sections.boards.push_back(&board);
  }
  for (const Flitch& flitch : steps.flitches) {
    if (tree.comes_of(flitch.piece, group.piece)) sections.flitches.push_back(&flitch);
  }
  sections.label = [&stage, lengths = Lengths(plan.mill), done = plan.done](const Cut& cut) {
    if (cut.n <= done) return std::to_string(cut.n) + " made";
    const auto told = std::find_if(stage.cuts.begin(), stage.cuts.end(),
                                   [&](const MillCut& other) { return other.n == cut.n; });
    return std::to_string(cut.n) + " · " + lengths.height(told->height);
  };
  sections.bed = bed_of(shape, plan.mill, frame.up, ancestry).height;
  for (const Cut* cut : sections.cuts) {
    sections.side_room =
        std::max(sections.side_room, label_side + text_width(sections.label(*cut), 3.0, true));
  }
  return result;
}

std::string stage_figure(const StageSubject& stage, std::size_t place) {
  Sections sections = stage.sections;
  sections.places = {sections.places[place]};
  const SectionView view(stage.subject, sections, figure_width);
  const double scale = scale_for(view);
  Svg svg;
  view.draw(svg, {0, 0}, scale);
  return with_unit(figure_width, view.height(scale) + 1.0, sections.places[0].name, svg.body());
}

void draw_clock(Svg& svg, const Point& centre, double size, double roll) {
  const double unit = size / 30.0;
  const auto at = [&](double degrees, double radius) {
    const double angle = degrees * std::numbers::pi / 180.0;
    return Point(centre + radius * unit * Point(std::sin(angle), -std::cos(angle)));
  };
  svg.circle(centre, 14.0 * unit, look::frame);
  for (int hour = 0; hour < 12; ++hour) {
    svg.line(at(30.0 * hour, hour % 3 == 0 ? 11.5 : 12.6), at(30.0 * hour, 14.0), look::rule);
  }
  svg.line(centre, at(roll, 6.6), "stroke=\"#1a1a1a\" stroke-width=\"1.2\"");
  svg.circle(at(roll, 9.0), 2.9 * unit, "fill=\"#1a1a1a\" stroke=\"none\"");
  svg.text(at(roll, 9.0) + Point(0, 1.5 * unit), "T", {4.2 * unit, Anchor::middle, true, "#fff"});
  svg.circle(centre, 0.9 * unit, "fill=\"#1a1a1a\" stroke=\"none\"");
}

std::string clock_figure(double roll) {
  constexpr double size = 30.0;
  Svg svg;
  draw_clock(svg, {size / 2, size / 2}, size, roll);
  std::string text =
      with_unit(size, size, "T at " + clock_text(roll) + " on a clock face", svg.body());
  return text.replace(text.find("figure"), 6, "dial");
}

}  // namespace kerfwright::sheet
