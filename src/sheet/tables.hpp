#pragma once

#include <string>
#include <vector>

#include "subject.hpp"

/// The written parts of the cut map, above and below the drawings.
namespace kerfwright::sheet {

/// A part of the page of fixed height, mm.
struct Panel {
  double height = 0;
  std::function<void(Svg& svg, const Point& corner, double width)> draw;
};

/// Scales of the drawings, mm of log on one mm of paper.
struct Scales {
  double sections = 0, lengths = 0;
};

/// Name of the log, what comes of it, and how to lay it for each setup.
Panel heading_panel(const Subject& subject);

/// What the boards are and fetch; boards that are alike share a row.
Panel board_panel(const Subject& subject, double width);

/// The log's measures, the order's outcome, the scales with their bars, in so many columns.
Panel fact_panel(const Subject& subject, const Scales& scales, int columns);

/// What the signs mean, and what to beware of.
Panel note_panel(const Subject& subject, double width);

/// 1, 2, 3, 7 as "1–3, 7".
std::string runs(std::vector<int> numbers);

/// Hours on a clock face, 12 at the top, as 1:10; `degrees` clockwise from the top.
std::string clock_text(double degrees);

/// Breaks a text into lines no wider than `width`.
std::vector<std::string> wrapped(const std::string& text, double size, double width,
                                 bool bold = false);

}  // namespace kerfwright::sheet
