#include "surely_inside.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "kerfwright/shape/section.hpp"

namespace kerfwright::saw {
namespace {

constexpr double hair = 1e-9;  // share of a radius, for rounding

/// Sector of a direction, counted from +y over +z.
std::size_t sector_of(double y, double z) {
  // Tangents of 1, 2 and 3 times 11.25 degrees.
  constexpr double first = 0.19891236737965800, second = 0.41421356237309505,
                   third = 0.66817863791929891;
  const double across = std::abs(y), up = std::abs(z);
  const double less = std::min(across, up), more = std::max(across, up);
  const auto part = static_cast<std::size_t>(less >= first * more) +
                    static_cast<std::size_t>(less >= second * more) +
                    static_cast<std::size_t>(less >= third * more);
  const std::size_t quarter = up <= across ? part : 7 - part;
  if (z >= 0.0) return y >= 0.0 ? quarter : 15 - quarter;
  return y < 0.0 ? 16 + quarter : 31 - quarter;
}

}  // namespace

SurelyInside::SurelyInside(const LogShape& shape) : shape_(shape) {
  const int angles = shape.angles;
  const double flat = std::cos(std::numbers::pi / angles) * (1.0 - hair);
  const auto radius = [&](std::size_t i, int j) {
    const auto of = static_cast<double>(shape.radius[i][static_cast<std::size_t>(j % angles)]);
    return std::max(0.0, of - bark_at(shape, i));
  };
  for (std::size_t i = 0; i + 1 < shape.stations.size(); ++i) {
    std::array<double, sectors> least{};
    least.fill(1e9);
    for (int j = 0; j < angles; ++j) {
      const double shortest =
          std::min({radius(i, j), radius(i, j + 1), radius(i + 1, j), radius(i + 1, j + 1)});
      // A chord that ends where two sectors meet counts for both.
      constexpr auto count = static_cast<int>(sectors);
      for (int s = j * count / angles; s <= (j + 1) * count / angles; ++s) {
        double& of_sector = least[static_cast<std::size_t>(s % count)];
        of_sector = std::min(of_sector, shortest);
      }
    }
    for (double& reach : least) reach = flat * reach * flat * reach;
    squared_.push_back(least);
  }
}

bool SurelyInside::inside(const Eigen::Vector3d& from, const Eigen::Vector3d& to) const {
  const double low = std::min(from.x(), to.x());
  if (!(low >= 0.0 && std::max(from.x(), to.x()) <= shape_.length())) return false;
  const std::size_t i = locate(shape_, low).first;
  const double start = shape_.stations[i], end = shape_.stations[i + 1];
  if (std::max(from.x(), to.x()) > end) return false;
  const auto arm_of = [&](const Eigen::Vector3d& point) -> Eigen::Vector2d {
    const double share = (point.x() - start) / (end - start);
    return point.tail<2>() - (1.0 - share) * shape_.axis[i] - share * shape_.axis[i + 1];
  };
  const Eigen::Vector2d a = arm_of(from), b = arm_of(to);
  std::size_t first = sector_of(a.x(), a.y()), last = sector_of(b.x(), b.y());
  // The short way round; where it could be either, all of it.
  std::size_t more = (last + sectors - first) % sectors;
  if (more > sectors / 2) {
    first = last;
    more = sectors - more;
  } else if (more == sectors / 2) {
    more = sectors - 1;
  }
  const double furthest = std::max(a.squaredNorm(), b.squaredNorm());
  for (std::size_t k = 0; k <= more; ++k) {
    if (!(furthest <= squared_[i][(first + k) % sectors])) return false;
  }
  return true;
}

}  // namespace kerfwright::saw
