#include <algorithm>

#include "kerfwright/sheet/setup_maps.hpp"
#include "lengths.hpp"
#include "look.hpp"
#include "page.hpp"
#include "stage_view.hpp"
#include "stage_words.hpp"
#include "tables.hpp"

namespace kerfwright {
namespace {

using namespace sheet;

constexpr double margin = 9.0;  // mm; the frame lies 3 mm outside of it
constexpr double width = 210.0 - 2 * margin;
constexpr double bottom = 297.0 - margin;
constexpr double row = 5.2;
constexpr double between = 2.0;

/// How to lay the piece, a line each.
std::vector<std::string> laying(const Stage& stage, const Lengths& lengths) {
  std::vector<std::string> lines;
  std::string turn = "T to " + clock_text(stage.roll) + ": " + turn_words(stage.roll) +
                     " from how it lay when scanned, seen from the butt";
  if (stage.turn_on) turn += "; " + turn_words(*stage.turn_on) + " on from the setup before";
  lines.push_back(turn);
  std::string text;
  for (const SawnFace& face : stage.faces) {
    text += (text.empty() ? "Face of cut " : ", of cut ") + std::to_string(face.cut) + " " +
            facing_words(face.clock);
  }
  if (!text.empty()) lines.push_back(text);
  text = stage.on_face ? "Flat on its sawn face" : "";
  if (stage.spacer > 0.0) text += ", on a board of " + lengths.text(stage.spacer, 0.1);
  for (const Support& support : stage.supports) {
    if (stage.on_face) break;
    text += (text.empty() ? "Block up its underside " : ", ") + lengths.text(support.raise) +
            " at " + lengths.text(support.place) + " from its butt end";
  }
  lines.push_back(text);
  return lines;
}

double draw_heading(Svg& svg, const Stage& stage, const LogShape& shape, const Lengths& lengths) {
  const std::string title = "Setup " + std::to_string(stage.setup);
  svg.text({margin, margin + 5.4}, title, {6.4, Anchor::start, true});
  const double start = margin + text_width(title, 6.4, true) + 2.0;
  svg.text(
      {start, margin + 5.4},
      fitted(lying_words(stage, false) + " · " + shape.source.file, 4.2, width - start + margin),
      {4.2});
  double y = margin + 8.0;
  for (const std::string& line : laying(stage, lengths)) {
    for (const std::string& part : wrapped(line, 3.6, width)) {
      y += 4.8;
      svg.text({margin, y}, part, {3.6});
    }
  }
  return y + 3.0;
}

struct Column {
  double left, left_inches;  // shares of the width
  const char* name;
};
constexpr Column columns[] = {{0.0, 0.0, "Cut"},           {0.07, 0.055, "Height"},
                              {0.18, 0.145, "Off comes"},  {0.44, 0.395, "Face: butt"},
                              {0.58, 0.555, "middle"},     {0.72, 0.715, "top"},
                              {0.87, 0.875, "Cut is wide"}};

/// Fractions take more room than millimetres.
double left_of(std::size_t column, const Lengths& lengths) {
  if (column == std::size(columns)) return 1.0;
  return lengths.inches() ? columns[column].left_inches : columns[column].left;
}

void draw_row(Svg& svg, double y, const std::array<std::string, 7>& texts, bool heading,
              const Lengths& lengths) {
  for (std::size_t i = 0; i < texts.size(); ++i) {
    const bool bold = !heading && i < 2;
    const double size = heading ? 2.8 : lengths.inches() ? 3.0 : 3.4;
    const double left = left_of(i, lengths);
    const double room = (left_of(i + 1, lengths) - left) * width - 1.0;
    svg.text({margin + left * width, y}, fitted(texts[i], size, room, bold),
             {size, Anchor::start, bold});
  }
}

std::string off_text(const MillCut& cut, const SawSteps& steps, const Lengths& lengths) {
  if (cut.off.kind == Part::Kind::rest) return "below: " + part_words(cut.below, steps);
  return part_words(cut.off, steps) + ", " + thickness_words(cut.off, lengths);
}

std::string width_text(const FaceWidth& face, const Lengths& lengths) {
  const WidthWords words = width_words(face, lengths);
  return words.width + words.within;
}

void draw_table(Svg& svg, double top, const Stage& stage, const SawSteps& steps,
                const Lengths& lengths) {
  std::array<std::string, 7> names;
  for (std::size_t i = 0; i < names.size(); ++i) names[i] = columns[i].name;
  draw_row(svg, top + 3.0, names, true, lengths);
  svg.line({margin, top + 4.2}, {margin + width, top + 4.2}, look::rule);
  double y = top + 4.2;
  for (const MillCut& cut : stage.cuts) {
    y += row;
    draw_row(svg, y - 1.2,
             {std::to_string(cut.n), lengths.height(cut.height), off_text(cut, steps, lengths),
              width_text(cut.face[0], lengths), width_text(cut.face[1], lengths),
              width_text(cut.face[2], lengths), lengths.number(cut.width)},
             false, lengths);
    svg.line({margin, y}, {margin + width, y}, look::leader);
  }
}

/// The sections of a stage two and two: butt and top, the middle and a clock face.
struct Quarters {
  SectionView ends, middle;

  Quarters(const StageSubject& stage)
      : ends(stage.subject, only(stage, {0, 2}), width / 2),
        middle(stage.subject, only(stage, {1}), width / 2) {}

  static Sections only(const StageSubject& stage, const std::vector<std::size_t>& which) {
    Sections sections = stage.sections;
    sections.places.clear();
    for (const std::size_t i : which) sections.places.push_back(stage.sections.places[i]);
    return sections;
  }

  double height(double scale) const { return ends.height(scale) + middle.height(scale) + between; }

  /// The largest scale at which all fit a height.
  double scale_for(double room) const {
    double scale = 0.5;
    while (scale < 400.0 &&
           (std::max(ends.width(scale), middle.width(scale)) > width / 2 || height(scale) > room)) {
      scale *= 1.02;
    }
    return scale;
  }

  void draw(Svg& svg, double top, double scale, double roll) const {
    ends.draw(svg, {margin, top}, scale);
    const double lower = top + ends.height(scale) + between;
    middle.draw(svg, {margin, lower}, scale);
    const double size = std::min(52.0, middle.height(scale));
    draw_clock(svg, {margin + 0.75 * width, lower + middle.height(scale) / 2}, size, roll);
  }
};

std::string map_of(const Steps& steps, const LogShape& shape, std::size_t index) {
  const Stage& stage = steps.steps.stages[index];
  const StageSubject subject = stage_subject(steps, shape, index);
  const Lengths lengths(steps.told->sawn.mill);
  Svg svg;
  svg.rect({Point(0, 0), Point(210, 297)}, "fill=\"#fff\"");
  svg.rect({Point(margin - 3, margin - 3), Point(210 - margin + 3, bottom + 3)}, look::frame);
  const double top = draw_heading(svg, stage, shape, lengths);
  const double table = 4.2 + row * static_cast<double>(stage.cuts.size());
  const double notes = 14.0;
  const Quarters sections(subject);
  const double room = std::max(60.0, bottom - notes - table - top - 6.0);
  const double scale = sections.scale_for(room);
  sections.draw(svg, top, scale, stage.roll);
  draw_table(svg, top + sections.height(scale) + 4.0, stage, steps.steps, lengths);
  const std::string note =
      "All in " + lengths.units() + ". Thickness: butt" +
      (lengths.inches() ? "; middle; top" : " / middle / top") +
      ". Height: from the bed to the underside of the blade. Face: width of the new face in wood, "
      "without bark; where the tape disagrees by more than the ±, stop and plan again. Dashed: not "
      "at this end, but further in. Chock and "
      "clamp before you let go; look for metal before each cut; nobody in line with the blade.";
  double y = bottom - notes + 2.0;
  for (const std::string& line : wrapped(note, 3.0, width)) {
    svg.text({margin, y += 3.8}, line, {3.0});
  }
  return a4_svg("Setup " + std::to_string(stage.setup) + " of " + shape.source.file,
                steps.told->sawn, svg.body());
}

}  // namespace

std::vector<SetupMap> setup_maps(const SawPlan& plan, const LogShape& shape) {
  const Steps steps = told_stages(plan, shape);
  std::vector<SetupMap> maps;
  for (std::size_t i = 0; i < steps.groups.size(); ++i) {
    if (steps.groups[i].crosswise) continue;
    maps.push_back({stage_name(steps.steps, i), map_of(steps, shape, i)});
  }
  return maps;
}

}  // namespace kerfwright
