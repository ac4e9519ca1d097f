#include "log_frame.hpp"

#include <Eigen/Geometry>
#include <algorithm>
#include <cmath>
#include <numbers>

namespace kerfwright {
namespace {

constexpr double two_pi = 2.0 * std::numbers::pi;

/// Where angle 0 is in the first section.
Eigen::Vector3d first_direction(const Eigen::Vector3d& tangent,
                                const std::optional<Eigen::Vector3d>& up) {
  if (up) {
    const Eigen::Vector3d flat = *up - up->dot(tangent) * tangent;
    if (flat.norm() > 0.3) return flat.normalized();
  }
  return tangent.unitOrthogonal();
}

}  // namespace

LogFrame::LogFrame(const RoughAxis& axis, const std::optional<Eigen::Vector3d>& up) {
  const std::size_t n = axis.centre.size();
  const Eigen::Vector3d head =
      (axis.centre[0] - axis.centre[std::min<std::size_t>(2, n - 1)]).normalized();
  const Eigen::Vector3d tail =
      (axis.centre[n - 1] - axis.centre[n - 1 - std::min<std::size_t>(2, n - 1)]).normalized();
  // Two knots beyond, far enough for the ends that the search stopped short of.
  if (up) knows_up_ = (*up - up->dot(head) * head).norm() > 0.3;
  centre_.push_back(axis.centre.front() + 3.0 * axis.radius.front() * head);
  centre_.insert(centre_.end(), axis.centre.begin(), axis.centre.end());
  centre_.push_back(axis.centre.back() + 3.0 * axis.radius.back() * tail);
  radius_.push_back(axis.radius.front());
  radius_.insert(radius_.end(), axis.radius.begin(), axis.radius.end());
  radius_.push_back(axis.radius.back());
  knot_.push_back(-3.0 * axis.radius.front());
  for (std::size_t i = 1; i < centre_.size(); ++i)
    knot_.push_back(i == 1 ? 0.0 : knot_.back() + (centre_[i] - centre_[i - 1]).norm());
  length_ = knot_[n];
  chord_ = (centre_.back() - centre_.front()).normalized();
  for (std::size_t i = 0; i < centre_.size(); ++i) {
    const std::size_t before = i > 0 ? i - 1 : 0;
    const std::size_t after = std::min(i + 1, centre_.size() - 1);
    tangent_.push_back((centre_[after] - centre_[before]).normalized());
    Eigen::Vector3d first = i == 0 ? first_direction(tangent_[0], up) : first_.back();
    first = (first - first.dot(tangent_[i]) * tangent_[i]).normalized();
    first_.push_back(first);
    second_.push_back(tangent_[i].cross(first));
    chord_place_.push_back(chord_.dot(centre_[i]));
  }
}

std::size_t LogFrame::segment_at(double along) const {
  const auto after = std::upper_bound(knot_.begin() + 1, knot_.end() - 1, along);
  return static_cast<std::size_t>(after - knot_.begin()) - 1;
}

double LogFrame::radius(double along) const {
  const std::size_t i = segment_at(along);
  const double t = std::clamp((along - knot_[i]) / (knot_[i + 1] - knot_[i]), 0.0, 1.0);
  return (1.0 - t) * radius_[i] + t * radius_[i + 1];
}

Eigen::Vector3d LogFrame::centre(double along) const {
  const std::size_t i = segment_at(along);
  const double t = (along - knot_[i]) / (knot_[i + 1] - knot_[i]);
  return (1.0 - t) * centre_[i] + t * centre_[i + 1];
}

/// The planes square to the tangents at the knots divide space along the log; a point lies in the
/// segment whose planes enclose it, and the share of the way between them is its place: smooth over
/// the knots.
LogFrame::Place LogFrame::locate(const Eigen::Vector3d& point, std::size_t& segment) const {
  const auto side = [&](std::size_t i) { return tangent_[i].dot(point - centre_[i]); };
  const std::size_t last = centre_.size() - 2;
  for (std::size_t steps = 0; steps < centre_.size(); ++steps) {
    if (segment > 0 && side(segment) < 0.0) {
      --segment;
    } else if (segment < last && side(segment + 1) >= 0.0) {
      ++segment;
    } else {
      break;
    }
  }
  const double a = side(segment), b = -side(segment + 1);
  const double t = a + b > 1e-9 ? std::clamp(a / (a + b), 0.0, 1.0) : 0.5;
  const Eigen::Vector3d d = point - ((1.0 - t) * centre_[segment] + t * centre_[segment + 1]);
  const double x = d.dot((1.0 - t) * first_[segment] + t * first_[segment + 1]);
  const double y = d.dot((1.0 - t) * second_[segment] + t * second_[segment + 1]);
  const double turn = std::atan2(y, x);
  const double r = (1.0 - t) * radius_[segment] + t * radius_[segment + 1];
  return {(1.0 - t) * knot_[segment] + t * knot_[segment + 1], turn < 0.0 ? turn + two_pi : turn,
          std::hypot(x, y) / r};
}

Unwrapped LogFrame::unwrap(const Points& points, double farthest) const {
  const double reach = farthest * *std::max_element(radius_.begin(), radius_.end());
  Eigen::AlignedBox3d box;
  for (const Eigen::Vector3d& c : centre_) box.extend(c);
  box.min().array() -= reach;
  box.max().array() += reach;
  Unwrapped near;
  std::size_t segment = 0;
  for (std::size_t i = 0; i < points.size(); ++i) {
    const Eigen::Vector3d point = points[i].cast<double>();
    if (!box.contains(point)) continue;
    const auto guess =
        std::upper_bound(chord_place_.begin(), chord_place_.end(), chord_.dot(point));
    segment = std::min(
        static_cast<std::size_t>(std::max<std::ptrdiff_t>(0, guess - chord_place_.begin() - 1)),
        centre_.size() - 2);
    const Place place = locate(point, segment);
    const bool beyond = place.along <= knot_.front() + radius_.front() ||
                        place.along >= knot_.back() - radius_.back();
    if (place.out > farthest || beyond) continue;
    near.index.push_back(static_cast<std::uint32_t>(i));
    near.along.push_back(static_cast<float>(place.along));
    near.angle.push_back(static_cast<float>(place.angle));
    near.out.push_back(static_cast<float>(place.out));
  }
  return near;
}

}  // namespace kerfwright
