#include "circle_fit.hpp"

#include <Eigen/Dense>
#include <cmath>
#include <cstdint>

#include "robust.hpp"

namespace kerfwright {
namespace {

std::optional<Circle> through_three(const Eigen::Vector2d& a, const Eigen::Vector2d& b,
                                    const Eigen::Vector2d& c) {
  const Eigen::Vector2d p = b - a, q = c - a;
  const double twice_area = p.x() * q.y() - p.y() * q.x();
  if (std::abs(twice_area) < 1e-6) return std::nullopt;
  const double pp = p.squaredNorm(), qq = q.squaredNorm();
  const Eigen::Vector2d centre((q.y() * pp - p.y() * qq) / (2.0 * twice_area),
                               (p.x() * qq - q.x() * pp) / (2.0 * twice_area));
  return Circle{a + centre, centre.norm(), 0.0};
}

double median_distance(const std::vector<Eigen::Vector2d>& points, const Circle& circle) {
  std::vector<double> distance;
  distance.reserve(points.size());
  for (const auto& p : points)
    distance.push_back(std::abs((p - circle.centre).norm() - circle.radius));
  return median(std::move(distance));
}

/// At most `most` of the points, evenly by index.
std::vector<Eigen::Vector2d> some_of(const std::vector<Eigen::Vector2d>& points, std::size_t most) {
  const std::size_t stride = (points.size() + most - 1) / most;
  std::vector<Eigen::Vector2d> some;
  for (std::size_t i = 0; i < points.size(); i += stride) some.push_back(points[i]);
  return some;
}

std::optional<Circle> best_of_three_points(const std::vector<Eigen::Vector2d>& points,
                                           double largest) {
  std::optional<Circle> best;
  std::uint64_t state = 12345;
  const auto draw = [&]() -> const Eigen::Vector2d& {  // Knuth's MMIX generator: same draws always
    state = state * 6364136223846793005ULL + 1442695040888963407ULL;
    return points[static_cast<std::size_t>((state >> 33) % points.size())];
  };
  for (int trial = 0; trial < 80; ++trial) {
    const auto& a = draw();
    const auto& b = draw();
    const auto& c = draw();
    auto circle = through_three(a, b, c);
    if (!circle || circle->radius > largest) continue;
    circle->spread = median_distance(points, *circle);
    if (!best || circle->spread < best->spread) best = circle;
  }
  return best;
}

/// Taubin's algebraic fit (IEEE PAMI 13, 1991), weighted, by the smallest root of its quadratic
/// pencil: nearly free of the pull towards small circles that the plain algebraic fit has on short
/// arcs.
std::optional<Circle> taubin(const std::vector<Eigen::Vector2d>& points,
                             const std::vector<double>& weights) {
  double total = 0;
  Eigen::Vector2d mean(0, 0);
  for (std::size_t i = 0; i < points.size(); ++i) {
    total += weights[i];
    mean += weights[i] * points[i];
  }
  if (total <= 0) return std::nullopt;
  mean /= total;
  double mean_square = 0;
  for (std::size_t i = 0; i < points.size(); ++i) {
    mean_square += weights[i] * (points[i] - mean).squaredNorm() / total;
  }
  Eigen::Matrix3d moments = Eigen::Matrix3d::Zero();
  for (std::size_t i = 0; i < points.size(); ++i) {
    const Eigen::Vector2d p = points[i] - mean;
    const Eigen::Vector3d row((p.squaredNorm() - mean_square) / (2.0 * std::sqrt(mean_square)),
                              p.x(), p.y());
    moments += weights[i] * row * row.transpose();
  }
  const Eigen::SelfAdjointEigenSolver<Eigen::Matrix3d> solver(moments);
  const Eigen::Vector3d v = solver.eigenvectors().col(0);
  const double lead = v[0] / (2.0 * std::sqrt(mean_square));
  if (std::abs(lead) < 1e-12) return std::nullopt;
  const Eigen::Vector2d offset(-v[1] / (2.0 * lead), -v[2] / (2.0 * lead));
  return Circle{mean + offset, std::sqrt(offset.squaredNorm() + mean_square), 0.0};
}

}  // namespace

std::optional<Circle> fit_circle(const std::vector<Eigen::Vector2d>& points, double largest) {
  if (points.size() < 6) return std::nullopt;
  auto circle = best_of_three_points(some_of(points, 300), largest);
  if (!circle) return std::nullopt;
  std::vector<double> weights(points.size());
  for (int round = 0; round < 6; ++round) {
    const double limit =
        std::max(1.0, tukey_limit * sigma_of_mad * median_distance(points, *circle));
    for (std::size_t i = 0; i < points.size(); ++i) {
      weights[i] = tukey_weight((points[i] - circle->centre).norm() - circle->radius, limit);
    }
    const auto next = taubin(points, weights);
    if (!next || next->radius > largest) break;
    circle = next;
  }
  circle->spread = sigma_of_mad * median_distance(points, *circle);
  return circle;
}

}  // namespace kerfwright
