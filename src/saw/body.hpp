#pragma once

#include <optional>
#include <string>
#include <vector>

#include "emit.hpp"
#include "kerfwright/shape/section.hpp"

namespace kerfwright::saw {

/// What lies under the saw: the log or a half of it, a cant between two sawn faces, a quarter on
/// one.
struct Body {
  SetupKind kind = SetupKind::log;
  Pose pose;
  std::string name;
  double lean = 0;  ///< of its sawn faces, lateral mm per mm along the log
  double face_left = -1e9, face_right = 1e9;  ///< mm, where they lie at the butt; far off: none
  std::optional<double> floor = {};           ///< mm, height of the flat face it lies on, if any
  std::optional<double> ceiling = {};         ///< mm, height of its flat upper face, if any
};

Body body_of(const CantLayout& cant, const std::string& name);
Body body_of(const QuarterLayout& quarter, const std::string& name);

/// The log, or what was left of it between faces.
Body body_of(const LogLayout& layout, const std::string& name);

/// What is left of a log sawn around before one of its cuts, lying with that cut's face up.
Body body_of(const AroundLayout& around, std::size_t step, double kerf, const std::string& name);

/// Half a turn further: what was above is below, what was left is right.
Body turned_over(const Body& body);

/// Height of the bed under a body in the frame of its pose, mm.
double bed_under(const Body& body, const LogShape& shape, const Mill& mill);

/// Outlines under bark half way between every two stations.
std::vector<Outline> middle_sections(const LogShape& shape);

/// mm2 of the body's wood in the plane at a height.
/// @param middles middle_sections of the shape
double sawn_area(const Body& body, const LogShape& shape, const std::vector<Outline>& middles,
                 double height);

}  // namespace kerfwright::saw
