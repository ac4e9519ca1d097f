#pragma once

#include <string>
#include <vector>

#include "svg.hpp"

/// The numbers of cuts and letters of flitches round a section.
namespace kerfwright::sheet {

inline constexpr double label_gap =
    4.8;  // mm from a section to its labels: the mark of the top fits between
inline constexpr double label_room = 3.4;  // of a row of labels above or below
inline constexpr double label_row = 2.7;   // of a label in a column
inline constexpr double column_margin =
    label_gap - 1.0;  // how far a column may reach beyond the section

/// Something to write at an end of a line: a cut's number, a flitch's letter.
struct EndLabel {
  Point end;
  std::string text;
};

/// Which side of the section labels stand on.
enum class Edge { left, right, above, below };

/// How many rows it takes to write so many labels above or below a section.
std::size_t label_rows(std::size_t count, double cell_width);

/// Labels in a column beside the section, or in rows above or below it, joined to their lines.
/// @param frame of the sections, which labels stand outside of
/// @param cell of the section with its labels
void draw_labels(Svg& svg, const Box& frame, const Box& cell, std::vector<EndLabel> labels,
                 Edge edge, bool is_cut);

}  // namespace kerfwright::sheet
