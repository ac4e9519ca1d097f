#include "invented/against_truth.hpp"

#include <Eigen/LU>
#include <algorithm>
#include <cmath>
#include <numbers>

namespace kerfwright {
namespace {

constexpr double kTurn = 2.0 * std::numbers::pi;

/// How far the true bark lies from `from` along `ray`, both in the invented log's frame.
double true_reach(const InventedLog& log, const Eigen::Vector3d& from, const Eigen::Vector3d& ray,
                  double guess) {
  const auto inside = [&](double t) {
    const Eigen::Vector3d p = from + t * ray;
    const Eigen::Vector2d arm = p.tail<2>() - log.axis(p.x());
    return log.radius(p.x(), std::atan2(arm.y(), arm.x())) > arm.norm();
  };
  double low = 0, high = guess;
  while (inside(high) && high < 1e5) high *= 1.2;
  for (int i = 0; i < 30; ++i) {
    const double middle = 0.5 * (low + high);
    (inside(middle) ? low : high) = middle;
  }
  return low;
}

struct Sum {
  double count = 0, sum = 0, squares = 0;
  void add(double error) {
    count += 1;
    sum += error;
    squares += error * error;
  }
  double bias() const { return count > 0 ? sum / count : 0; }
  double rmse() const { return count > 0 ? std::sqrt(squares / count) : 0; }
};

/// Largest mean of neighbours, three stations by seven angles.
double worst_patch(const std::vector<std::vector<double>>& error) {
  double worst = -1e9;
  for (std::size_t i = 1; i + 1 < error.size(); ++i) {
    const std::size_t n = error[i].size();
    for (std::size_t j = 0; j < n; ++j) {
      double sum = 0;
      for (std::size_t r = i - 1; r <= i + 1; ++r)
        for (std::size_t a = 0; a < 7; ++a) sum += error[r][(j + a) % n];
      worst = std::max(worst, sum / 21.0);
    }
  }
  return worst;
}

/// How far a station sticks out of an end, along the shape's x.
double beyond(const LogShape& shape, std::size_t station, const Eigen::Matrix4d& to_truth,
              const TrueEnd& end) {
  const Eigen::Vector3d along = to_truth.block<3, 1>(0, 0);
  const double steep = std::abs(end.normal.dot(along));
  double most = -1e9;
  for (std::size_t j = 0; j < shape.radius[station].size(); ++j) {
    const double angle = kTurn * static_cast<double>(j) / shape.angles;
    const double radius = static_cast<double>(shape.radius[station][j]);
    const Eigen::Vector4d point(shape.stations[station],
                                shape.axis[station].x() + radius * std::cos(angle),
                                shape.axis[station].y() + radius * std::sin(angle), 1.0);
    most = std::max(most, (end.normal.dot((to_truth * point).head<3>()) - end.distance) / steep);
  }
  return most;
}

}  // namespace

Scan as_read(const PhoneScan& phone) {
  Scan scan;
  scan.points.reserve(phone.points.size());
  for (const ScannedPoint& point : phone.points) scan.points.push_back(1000.0F * point.position);
  scan.file_to_scan.topLeftCorner<3, 3>() *= 1000.0;
  scan.source.file = "yard.ply";
  scan.source.points = scan.points.size();
  return scan;
}

TrueEnd butt_of(const InventedLog& log) {
  return {{-1.0, log.butt_slope.x(), log.butt_slope.y()}, 0.0};
}

TrueEnd top_of(const InventedLog& log) {
  return {{1.0, -log.top_slope.x(), -log.top_slope.y()}, log.length};
}

ShapeErrors against_truth(const LogShape& shape, const InventedLog& truth,
                          const Eigen::Matrix4d& scan_to_log, const TrueEnd& butt,
                          const TrueEnd& top) {
  const Eigen::Matrix4d to_truth = scan_to_log * shape.scan_to_log.inverse();
  ShapeErrors errors;
  Sum seen, inferred;
  std::vector<std::vector<double>> grid;
  for (std::size_t i = 0; i < shape.stations.size(); ++i) {
    const Eigen::Vector4d centre(shape.stations[i], shape.axis[i].x(), shape.axis[i].y(), 1.0);
    const Eigen::Vector3d middle = (to_truth * centre).head<3>();
    grid.emplace_back();
    for (std::size_t j = 0; j < shape.radius[i].size(); ++j) {
      const double angle = kTurn * static_cast<double>(j) / shape.angles;
      const Eigen::Vector3d ray =
          to_truth.topLeftCorner<3, 3>() * Eigen::Vector3d(0, std::cos(angle), std::sin(angle));
      const double radius = static_cast<double>(shape.radius[i][j]);
      const double error = radius - true_reach(truth, middle, ray, radius);
      grid.back().push_back(error);
      (shape.seen[i][j] != 0 ? seen : inferred).add(error);
    }
  }
  const double first = (to_truth * Eigen::Vector4d(0, 0, 0, 1)).x();
  const double last = (to_truth * Eigen::Vector4d(shape.length(), 0, 0, 1)).x();
  errors.turned = first > last;
  const bool turned = errors.turned;
  errors.butt = beyond(shape, turned ? shape.stations.size() - 1 : 0, to_truth, butt);
  errors.top = beyond(shape, turned ? 0 : shape.stations.size() - 1, to_truth, top);
  errors.length = errors.butt + errors.top;
  errors.seen_bias = seen.bias();
  errors.seen_rmse = seen.rmse();
  errors.inferred_bias = inferred.bias();
  errors.inferred_rmse = inferred.rmse();
  errors.worst_bulge = worst_patch(grid);
  return errors;
}

Kept kept_points(const PhoneScan& phone, const std::vector<PointLabel>& labels) {
  double own = 0, kept = 0, strange = 0;
  for (std::size_t i = 0; i < labels.size(); ++i) {
    const Label truth = phone.points[i].label;
    const bool is_own = truth == Label::bark || truth == Label::end_face;
    own += is_own ? 1 : 0;
    if (labels[i] != PointLabel::log) continue;
    (is_own ? kept : strange) += 1;
  }
  return {kept / std::max(1.0, own), strange / std::max(1.0, kept + strange)};
}

}  // namespace kerfwright
