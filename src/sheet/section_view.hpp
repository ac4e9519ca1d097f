#pragma once

#include <functional>
#include <optional>

#include "subject.hpp"

namespace kerfwright::sheet {

/// Which sections are drawn, and what of the log in them. Points into what it was made from.
struct Sections {
  struct Place {
    std::string id, name;
    double x = 0;                    ///< mm along the chord
    std::optional<Lying> part = {};  ///< what it stands for and how that lies; none: the log as
                                     ///< the subject's frame says
  };
  std::vector<Place> places;
  std::vector<Side> piece;  ///< the cuts that have made what lies under the saw; none: the log
  std::vector<const Cut*> cuts;
  std::vector<const Board*> boards;
  std::vector<const Flitch*> flitches;
  std::function<std::string(const Cut&)> label;  ///< of a cut
  std::optional<double> bed;                     ///< height of the bed in the subject's frame
  double side_room = 9.5;                        ///< mm beside a section, for letters and labels
};

/// Butt, middle and top of the whole log with all that is sawn on the mill; of a log that is
/// cross-cut first the middle of each part, as that lies.
Sections all_sections(const Subject& subject);

/// Sections side by side, as they lie under the saw in the subject's frame, seen from the butt.
class SectionView {
 public:
  /// @param cell_width mm of paper for each of the sections
  SectionView(const Subject& subject, Sections sections, double cell_width);

  double width(double scale) const;   ///< mm of paper that one section takes with its labels
  double height(double scale) const;  ///< and its height
  double size(double scale) const;    ///< mm of paper that the wood alone is wide or high, at most
  /// @param scale mm of log on one mm of paper
  void draw(Svg& svg, const Point& corner, double scale) const;

 private:
  double body_height(double scale) const;

  const Subject& subject_;
  Sections sections_;
  std::vector<Point> shifts_;  ///< of each section, mm of log
  double cell_width_;
  double above_ = 0, below_ = 0;  ///< mm of paper for captions and labels
  double column_ = 0;  ///< mm of paper that the column of labels needs beside the section
  Box extent_;         ///< of all sections, mm of log, x to the right and y down as drawn
};

}  // namespace kerfwright::sheet
