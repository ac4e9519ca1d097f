#pragma once

#include <optional>
#include <string>
#include <vector>

#include "svg.hpp"

/// Where labels go so that none covers another.
namespace kerfwright::sheet {

/// A label that wants to stand at a place on a line and takes some room there.
struct Slot {
  double want = 0;  ///< mm, of its middle
  double room = 0;  ///< mm
};

/// Middles of the labels, in the given order of items, such that none overlaps another, each as
/// near as can be to where it wants to stand (least squares), within [low, high] where they fit
/// there.
std::vector<double> spread(const std::vector<Slot>& slots, double low, double high);

/// Boxes that are taken.
class Taken {
 public:
  bool free(const Box& box) const;
  void take(const Box& box) { boxes_.push_back(box); }

 private:
  std::vector<Box> boxes_;
};

/// A board's number on a white ground, centred on the first of the places that is free; not drawn
/// where none is. Returns where it stands.
std::optional<Point> place_number(Svg& svg, Taken& taken, const Path& places,
                                  const std::string& number, double size = 3.0);

}  // namespace kerfwright::sheet
