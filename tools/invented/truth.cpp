#include "invented/truth.hpp"

#include <cmath>
#include <numbers>

namespace kerfwright {

LogShape true_shape(const InventedLog& log, const Eigen::Matrix4d& scan_to_log, double step,
                    int angles) {
  LogShape shape;
  shape.source.file = log.name;
  shape.scan_to_log = scan_to_log;
  shape.angles = angles;
  const int steps = static_cast<int>(std::ceil(log.length / step));
  double mean = 0;
  for (int i = 0; i <= steps; ++i) {
    const double x = i == steps ? log.length : i * step;
    shape.stations.push_back(x);
    shape.axis.push_back(log.axis(x));
    std::vector<float> radii;
    for (int j = 0; j < angles; ++j) {
      const double r = log.radius(x, 2.0 * std::numbers::pi * j / angles);
      radii.push_back(static_cast<float>(r));
      mean += r / ((steps + 1.0) * angles);
    }
    shape.radius.push_back(std::move(radii));
    shape.sigma.emplace_back(static_cast<std::size_t>(angles), 0.0F);
    shape.seen.emplace_back(static_cast<std::size_t>(angles), static_cast<unsigned char>(1));
  }
  shape.bark = log.bark_ratio ? mean * (1.0 - *log.bark_ratio) : log.bark;
  return shape;
}

}  // namespace kerfwright
