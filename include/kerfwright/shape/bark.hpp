#pragma once

#include "kerfwright/shape/log_shape.hpp"

namespace kerfwright {

struct Species;  // trade/species.hpp

/// How thick the bark is where the mean radius over bark is r: constant + linear r + square r^2,
/// never less than 0 nor more than r. So bark is thicker at the butt unless it is constant.
struct BarkRule {
  double constant = 0;  ///< mm
  double linear = 0;    ///< mm of bark for each mm of radius
  double square = 0;    ///< mm of bark for each mm2

  bool varies() const { return linear != 0.0 || square != 0.0; }
};

/// What is published for the species: its model of bark by diameter where there is one, else its
/// ratio of diameters.
BarkRule bark_rule(const Species& species);

/// Thickness at a mean radius over bark, mm both.
double bark_thickness(const BarkRule& rule, double radius);

/// Gives the shape bark by the rule, at each station by the mean radius there, rounded to 0.01 mm.
void put_bark(LogShape& shape, const BarkRule& rule);

}  // namespace kerfwright
