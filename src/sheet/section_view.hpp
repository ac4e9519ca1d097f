#pragma once

#include "subject.hpp"

namespace kerfwright::sheet {

/// The sections at butt, middle and top side by side, as they lie under the saw in the main setup,
/// seen from the butt.
class SectionView {
 public:
  explicit SectionView(const Subject& subject);

  double width(double scale) const;   ///< mm of paper of one section with its labels
  double height(double scale) const;  ///< and its height
  /// @param scale mm of log on one mm of paper
  void draw(Svg& svg, const Point& corner, double scale, double cell_width) const;

 private:
  const Subject& subject_;
  double above_ = 0, below_ = 0;  ///< mm of paper for captions and labels
  Box extent_;  ///< of all sections, mm of log, x to the right and y down as drawn
};

}  // namespace kerfwright::sheet
