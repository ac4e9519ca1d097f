#include "invented/judge.hpp"

#include <Eigen/LU>
#include <algorithm>
#include <cmath>
#include <functional>

#include "kerfwright/shape/section.hpp"

namespace kerfwright {
namespace {

constexpr double kStep = 5.0;  // mm

using Depth = std::function<double(const Eigen::Vector3d&)>;

/// The outline (across, up) of what must be wood: the rectangle, or with wane the cross that is
/// left when each arris misses its corner.
std::vector<Eigen::Vector2d> must_be_wood(const Board& board, const Wane& wane) {
  const double b = board.width, c = board.thickness, q = wane.width * b, p = wane.thickness * c;
  const std::vector<Eigen::Vector2d> corners =
      wane.none() ? std::vector<Eigen::Vector2d>{{0, 0}, {b, 0}, {b, c}, {0, c}}
                  : std::vector<Eigen::Vector2d>{{q, 0},     {b - q, 0},     {b - q, p}, {b, p},
                                                 {b, c - p}, {b - q, c - p}, {b - q, c}, {q, c},
                                                 {q, c - p}, {0, c - p},     {0, p},     {q, p}};
  std::vector<Eigen::Vector2d> outline;
  for (std::size_t i = 0; i < corners.size(); ++i) {
    const Eigen::Vector2d from = corners[i], to = corners[(i + 1) % corners.size()];
    const int steps = std::max(1, static_cast<int>(std::ceil((to - from).norm() / kStep)));
    for (int k = 0; k < steps; ++k) outline.push_back(from + (to - from) * k / steps);
  }
  return outline;
}

/// The board in the true log's frame. A scale between the frames (a scan of unknown scale) moves
/// the middle of the board; its size is what the saw makes it.
Board carried(const Board& board, const Eigen::Matrix4d& plan_to_truth) {
  const Eigen::Matrix3d linear = plan_to_truth.topLeftCorner<3, 3>();
  const Eigen::Matrix3d turn = linear / std::cbrt(linear.determinant());
  const Eigen::Vector3d half =
      (board.length * board.along + board.width * board.across + board.thickness * board.up) / 2.0;
  Board there = board;
  there.along = turn * board.along;
  there.across = turn * board.across;
  there.up = turn * board.up;
  there.corner =
      linear * (board.corner + half) + plan_to_truth.topRightCorner<3, 1>() - turn * half;
  return there;
}

JudgedBoard judge_board(const Board& board, const Wane& wane, const Depth& depth,
                        double tolerance) {
  JudgedBoard judged{board.id, board.product, board.value, -1e9, board.corner, true};
  const std::vector<Eigen::Vector2d> outline = must_be_wood(board, wane);
  const int steps = std::max(1, static_cast<int>(std::ceil(board.length / kStep)));
  for (int i = 0; i <= steps; ++i) {
    const Eigen::Vector3d at = board.corner + board.along * (board.length * i / steps);
    for (const Eigen::Vector2d& offset : outline) {
      const Eigen::Vector3d point = at + offset.x() * board.across + offset.y() * board.up;
      const double outside = -depth(point);
      if (outside > judged.protrusion) {
        judged.protrusion = outside;
        judged.worst_point = point;
      }
    }
  }
  judged.there = judged.protrusion <= tolerance;
  return judged;
}

Wane wane_of(const SawPlan& plan, const std::string& name) {
  for (const Product& product : plan.order.products)
    if (product.name == name) return product.wane;
  return {};
}

JudgedPlan judge_with(const SawPlan& plan, const Eigen::Matrix4d& truth_scan_to_log,
                      const Depth& depth, double tolerance) {
  const Eigen::Matrix4d plan_to_truth = truth_scan_to_log * plan.scan_to_log.inverse();
  JudgedPlan judged;
  for (const Board& board : plan.boards) {
    judged.boards.push_back(
        judge_board(carried(board, plan_to_truth), wane_of(plan, board.product), depth, tolerance));
    judged.value_claimed += board.value;
    if (judged.boards.back().there) judged.value_there += board.value;
  }
  return judged;
}

}  // namespace

JudgedPlan judge(const SawPlan& plan, const InventedLog& truth, const Eigen::Matrix4d& scan_to_log,
                 double tolerance) {
  return judge_with(
      plan, scan_to_log, [&](const Eigen::Vector3d& point) { return depth_in(truth, point, true); },
      tolerance);
}

JudgedPlan judge(const SawPlan& plan, const LogShape& truth, double tolerance) {
  return judge_with(
      plan, truth.scan_to_log,
      [&](const Eigen::Vector3d& point) { return depth_inside(truth, point, Bark::off); },
      tolerance);
}

}  // namespace kerfwright
