#include "body.hpp"

#include <algorithm>
#include <array>

#include "frame.hpp"
#include "kerfwright/saw/opening.hpp"
#include "kerfwright/shape/section.hpp"

namespace kerfwright::saw {
namespace {

double sawn_width(const Body& body, const Outline& outline, double x, double height) {
  const Frame frame(body.pose);
  double low = 1e9;
  double high = -1e9;
  for (std::size_t j = 0; j < outline.size(); ++j) {
    const Eigen::Vector3d a(x, outline[j].x(), outline[j].y());
    const auto& next = outline[(j + 1) % outline.size()];
    const Eigen::Vector3d b(x, next.x(), next.y());
    const double ha = frame.up.dot(a) - height;
    const double hb = frame.up.dot(b) - height;
    if ((ha < 0.0) == (hb < 0.0)) continue;
    const double lateral =
        std::clamp(frame.across.dot(a + (b - a) * (ha / (ha - hb))) - body.lean * x, body.face_left,
                   body.face_right);
    low = std::min(low, lateral);
    high = std::max(high, lateral);
  }
  return std::max(0.0, high - low);
}

}  // namespace

Body body_of(const CantLayout& cant, const std::string& name) {
  Body body{SetupKind::cant, cant.pose, name, cant.lean};
  body.face_left = cant.face_left;
  body.face_right = cant.face_right;
  return body;
}

Body body_of(const QuarterLayout& quarter, const std::string& name) {
  Body body{SetupKind::cant, quarter.pose, name, quarter.lean};
  body.face_left = quarter.face_left.value_or(body.face_left);
  body.face_right = quarter.face_right.value_or(body.face_right);
  body.floor = quarter.floor;
  return body;
}

Body body_of(const LogLayout& layout, const std::string& name) {
  Body body{SetupKind::log, layout.pose, name};
  if (!layout.lying) return body;
  const Lying& lying = *layout.lying;
  body.lean = lying.lean;
  body.face_left = lying.left.value_or(body.face_left);
  body.face_right = lying.right.value_or(body.face_right);
  body.floor = lying.floor;
  body.ceiling = lying.ceiling;
  if (body.floor) body.kind = SetupKind::cant;
  return body;
}

Body body_of(const AroundLayout& around, std::size_t step, double kerf, const std::string& name) {
  const auto& next = around.steps[step];
  std::array<std::optional<double>, 2> lower, upper;  // mm, sawn faces in their direction's pose
  for (std::size_t i = 0; i < step; ++i) {
    const auto& before = around.steps[i];
    const auto d = static_cast<std::size_t>(before.direction);
    (before.upper ? upper : lower)[d] = before.plane + (before.upper ? -0.5 : 0.5) * kerf;
  }
  const auto mine = static_cast<std::size_t>(next.direction);
  const std::size_t other = 1 - mine;
  Body body{SetupKind::log, around.poses[mine], name};
  if (!next.upper) body.pose = upside_down(body.pose);
  body.lean = across_of(around.poses[other], 0.0, body.pose).lean;
  const bool lower_is_left = Frame(around.poses[other]).up.dot(Frame(body.pose).across) > 0.0;
  const auto at = [&](double height) {
    return across_of(around.poses[other], height, body.pose).at;
  };
  if (lower[other]) (lower_is_left ? body.face_left : body.face_right) = at(*lower[other]);
  if (upper[other]) (lower_is_left ? body.face_right : body.face_left) = at(*upper[other]);
  if (next.upper && lower[mine]) body.floor = *lower[mine];
  if (!next.upper && upper[mine]) body.floor = -*upper[mine];
  if (body.floor) body.kind = SetupKind::cant;
  return body;
}

Body turned_over(const Body& body) {
  Body turned = body;
  turned.pose = upside_down(body.pose);
  turned.lean = -body.lean;
  turned.face_left = -body.face_right;
  turned.face_right = -body.face_left;
  const auto mirrored = [](const std::optional<double>& height) {
    return height ? std::optional(-*height) : std::nullopt;
  };
  turned.floor = mirrored(body.ceiling);
  turned.ceiling = mirrored(body.floor);
  return turned;
}

double bed_under(const Body& body, const LogShape& shape, const Mill& mill) {
  if (body.floor) return *body.floor;
  const Frame frame(body.pose);
  return bed_under(shape, mill, frame.up, [&](const Eigen::Vector3d& point) {
    const double lateral = frame.across.dot(point) - body.lean * point.x();
    return lateral >= body.face_left && lateral <= body.face_right;
  });
}

std::vector<Outline> middle_sections(const LogShape& shape) {
  std::vector<Outline> middles;
  for (std::size_t i = 0; i + 1 < shape.stations.size(); ++i) {
    const double x = 0.5 * (shape.stations[i] + shape.stations[i + 1]);
    middles.push_back(section_outline_at(shape, x, Bark::off));
  }
  return middles;
}

double sawn_area(const Body& body, const LogShape& shape, const std::vector<Outline>& middles,
                 double height) {
  double area = 0.0;
  for (std::size_t i = 0; i + 1 < shape.stations.size(); ++i) {
    const double x = 0.5 * (shape.stations[i] + shape.stations[i + 1]);
    area += (shape.stations[i + 1] - shape.stations[i]) * sawn_width(body, middles[i], x, height);
  }
  return area;
}

}  // namespace kerfwright::saw
