#pragma once

#include "section_view.hpp"

namespace kerfwright::sheet {

/// One section on paper.
struct Sheet {
  const Subject& subject;
  const Sections& sections;
  const Sections::Place& place;
  double x;      // mm along the chord
  Point origin;  // where the chord's centre line goes, mm of paper
  double scale;
  Box frame;  // of the sections, mm of paper; labels stand outside it
  Box cell;   // of the section with its labels

  const Frame& view() const { return place.part ? place.part->frame : subject.frame; }
  Point at(const Eigen::Vector3d& p) const {
    return origin + Point(-p.dot(view().left), -p.dot(view().up)) / scale;
  }
  Point at(const Eigen::Vector2d& yz) const { return at(Eigen::Vector3d(x, yz.x(), yz.y())); }
  Path path(const Polygon& polygon) const {
    Path points;
    for (const auto& p : polygon) points.push_back(at(p));
    return points;
  }
};

/// The boards that a section shows, with their numbers.
void draw_boards(Svg& svg, const Sheet& sheet);

}  // namespace kerfwright::sheet
