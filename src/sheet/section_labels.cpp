#include "section_labels.hpp"

#include <algorithm>
#include <cmath>

#include "labels.hpp"
#include "look.hpp"

namespace kerfwright::sheet {
namespace {

constexpr double number_size = 3.0;

/// One label with the line that joins it to the end of what it names.
void draw_label(Svg& svg, const EndLabel& label, const Point& foot, Edge edge, bool is_cut) {
  const bool column = edge == Edge::left || edge == Edge::right;
  const double outward = edge == Edge::right || edge == Edge::below ? 1.0 : -1.0;
  const int axis = column ? 1 : 0;
  if (is_cut || std::abs(foot[axis] - label.end[axis]) > 1.2) {
    Point bend = foot;
    bend[1 - axis] -= outward * 1.5;
    svg.path({label.end, bend, foot}, false, look::leader);
  }
  const Anchor anchor = edge == Edge::left    ? Anchor::end
                        : edge == Edge::right ? Anchor::start
                                              : Anchor::middle;
  Point base = foot;
  if (column) {
    base += Point(outward * 0.4, 0.365 * number_size);
  } else {
    base.y() += edge == Edge::below ? 0.4 + 0.73 * number_size : -0.4;
  }
  svg.text(base, label.text, {number_size, anchor, true, is_cut ? look::cut_ink : "#1a1a1a"});
}

}  // namespace

std::size_t label_rows(std::size_t count, double cell_width) {
  const double room = text_width("99", number_size, true) + 1.0;
  return 1 + static_cast<std::size_t>(static_cast<double>(count) * room / cell_width);
}

void draw_labels(Svg& svg, const Box& frame, const Box& cell, std::vector<EndLabel> labels,
                 Edge edge, bool is_cut) {
  const bool column = edge == Edge::left || edge == Edge::right;
  const bool after = edge == Edge::right || edge == Edge::below;
  const int axis = column ? 1 : 0;
  const double outward = after ? 1.0 : -1.0;
  std::stable_sort(labels.begin(), labels.end(), [axis](const EndLabel& a, const EndLabel& b) {
    return a.end[axis] < b.end[axis];
  });
  const double border = after ? frame.high[1 - axis] : frame.low[1 - axis];
  const std::size_t rows = column ? 1 : label_rows(labels.size(), cell.high.x() - cell.low.x());
  const double low = column ? frame.low.y() - column_margin : cell.low.x();
  const double high = column ? frame.high.y() + column_margin : cell.high.x();
  for (std::size_t r = 0; r < rows; ++r) {
    std::vector<EndLabel> in_row;
    std::vector<Slot> slots;
    for (std::size_t i = r; i < labels.size(); i += rows) {
      in_row.push_back(labels[i]);
      const double room = column ? label_row : text_width(labels[i].text, number_size, true) + 1.0;
      slots.push_back({labels[i].end[axis], room});
    }
    const auto places = spread(slots, low, high);
    for (std::size_t i = 0; i < in_row.size(); ++i) {
      Point foot;
      foot[axis] = places[i];
      foot[1 - axis] = border + outward * (label_gap - 0.6 + label_room * static_cast<double>(r));
      draw_label(svg, in_row[i], foot, edge, is_cut);
    }
  }
}

}  // namespace kerfwright::sheet
