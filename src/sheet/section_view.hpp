#pragma once

#include "subject.hpp"

namespace kerfwright::sheet {

/// The sections at butt, middle and top side by side, as they lie under the saw in the main setup,
/// seen from the butt.
class SectionView {
 public:
  /// @param cell_width mm of paper for each of the three
  SectionView(const Subject& subject, double cell_width);

  double width(double scale) const;   ///< mm of paper that one section takes with its labels
  double height(double scale) const;  ///< and its height
  /// @param scale mm of log on one mm of paper
  void draw(Svg& svg, const Point& corner, double scale) const;

 private:
  double body_height(double scale) const;

  const Subject& subject_;
  double cell_width_;
  double above_ = 0, below_ = 0;  ///< mm of paper for captions and labels
  double column_ = 0;  ///< mm of paper that the column of labels needs beside the section
  Box extent_;         ///< of all sections, mm of log, x to the right and y down as drawn
};

}  // namespace kerfwright::sheet
