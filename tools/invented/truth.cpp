#include "invented/truth.hpp"

#include <cmath>
#include <numbers>

#include "kerfwright/shape/bark.hpp"

namespace kerfwright {

LogShape true_shape(const InventedLog& log, const Eigen::Matrix4d& scan_to_log, double step,
                    int angles) {
  LogShape shape;
  shape.source.file = log.name;
  shape.scan_to_log = scan_to_log;
  shape.angles = angles;
  const int steps = static_cast<int>(std::ceil(log.length / step));
  for (int i = 0; i <= steps; ++i) {
    const double x = i == steps ? log.length : i * step;
    shape.stations.push_back(x);
    shape.axis.push_back(log.axis(x));
    std::vector<float> radii;
    for (int j = 0; j < angles; ++j) {
      const double r = log.radius(x, 2.0 * std::numbers::pi * j / angles);
      radii.push_back(static_cast<float>(r));
    }
    shape.radius.push_back(std::move(radii));
    shape.sigma.emplace_back(static_cast<std::size_t>(angles), 0.0F);
    shape.seen.emplace_back(static_cast<std::size_t>(angles), static_cast<unsigned char>(1));
  }
  put_bark(shape, log.bark_ratio ? BarkRule{0.0, 1.0 - *log.bark_ratio, 0.0}
                                 : BarkRule{log.bark, 0.0, 0.0});
  return shape;
}

}  // namespace kerfwright
