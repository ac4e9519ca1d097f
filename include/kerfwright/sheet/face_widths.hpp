#pragma once

#include <array>
#include <string>

#include "kerfwright/saw/saw_plan.hpp"
#include "kerfwright/shape/log_shape.hpp"

/// What the tape says of a new face, against the model.
namespace kerfwright {

/// Widths of a new face without bark at butt, middle and top, mm.
using FaceWidths = std::array<double, 3>;

struct MeasuredFace {
  LogShape shape;        ///< as the tape says; the same where the tape agrees
  bool agrees = true;    ///< each width is within the sheet's own limits
  std::string sentence;  ///< for the person
};

/// Compares the face that cut `n` of the plan made with the tape. Where a width is off by more than
/// the sheet allows, the radius is changed on what lies below the face: half of the difference at
/// each edge, linear between the three places, the same all round below and fading above it, so
/// that the model's face becomes as wide as it was measured.
/// @throws UserError usage where the cut is none on the mill, or a width is absurd
MeasuredFace take_face_widths(const SawPlan& plan, const LogShape& shape, int n,
                              const FaceWidths& measured);

}  // namespace kerfwright
