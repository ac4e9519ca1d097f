#pragma once

#include "saw_steps.hpp"
#include "section_view.hpp"

/// How a piece lies under the saw in one stage, drawn.
namespace kerfwright::sheet {

/// A stage to draw: the told plan in the frame of its setup, and what lies on the mill.
/// Points into `steps` and `shape`.
struct StageSubject {
  Subject subject;
  Sections sections;  ///< butt, middle and top of the piece; labels with heights
};

StageSubject stage_subject(const Steps& steps, const LogShape& shape, std::size_t index);

/// One section of a stage as an <svg> element of its own, as wide as its surroundings.
/// @param place index into the sections' places
std::string stage_figure(const StageSubject& stage, std::size_t place);

/// Draws a clock face of some width with the letter T where what was up when scanned comes to.
void draw_clock(Svg& svg, const Point& centre, double size, double roll);

/// The same as an <svg> element.
std::string clock_figure(double roll);

}  // namespace kerfwright::sheet
