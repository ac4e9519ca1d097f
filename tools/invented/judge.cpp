#include "invented/judge.hpp"

#include <Eigen/LU>
#include <algorithm>
#include <cmath>
#include <functional>
#include <optional>

#include "kerfwright/shape/section.hpp"

namespace kerfwright {
namespace {

constexpr double kStep = 5.0;       // mm
constexpr double kSlabStep = 20.0;  // mm between the sections of a slab that are looked at
constexpr double kBeside = 400.0;   // mm beside a slab's box, where its edges may lie

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

/// Where a face of a slab has wood, mm from its corner.
struct Reach {
  double left = 0, right = 0;
};

/// The widest stretch of wood across a slab, on the face at height `c`, `a` mm from its near end.
std::optional<Reach> reach_across(const Board& board, const Depth& depth, double a, double c) {
  const Eigen::Vector3d from = board.corner + a * board.along + c * board.up;
  const auto wood = [&](double b) { return depth(from + b * board.across) >= 0.0; };
  const auto border = [&](double in, double out) {
    for (int i = 0; i < 20; ++i) {
      const double middle = (in + out) / 2.0;
      (wood(middle) ? in : out) = middle;
    }
    return in;
  };
  std::optional<Reach> widest;
  double began = 0.0;
  bool inside = false;
  for (double b = -kBeside; b <= board.width + kBeside; b += kStep) {
    const bool here = wood(b);
    if (here && !inside) began = border(b, b - kStep);
    const bool ends = inside && !here;
    inside = here;
    if (!ends) continue;
    const Reach reach{began, border(b - kStep, b)};
    if (!widest || reach.right - reach.left > widest->right - widest->left) widest = reach;
  }
  return widest;
}

/// A slab must be as wide as its product asks on both faces, and its mean edges, of what both faces
/// share, must lie where its box has them.
JudgedBoard judge_slab(const Board& board, double least_width, const Depth& depth,
                       double tolerance) {
  JudgedBoard judged{board.id, board.product, board.value, -1e9, board.corner, true};
  const int steps = std::max(1, static_cast<int>(std::ceil(board.length / kSlabStep)));
  double left = 0.0, right = 0.0;
  for (int i = 0; i <= steps; ++i) {
    // An end may lie out of the wood by the tolerance, as that of a board may.
    const double a = std::clamp(board.length * i / steps, tolerance, board.length - tolerance);
    const auto lower = reach_across(board, depth, a, 0.0);
    const auto upper = reach_across(board, depth, a, board.thickness);
    const double narrower =
        lower && upper ? std::min(lower->right - lower->left, upper->right - upper->left) : 0.0;
    const double share = (i == 0 || i == steps ? 0.5 : 1.0) / steps;
    left += share * (lower && upper ? std::max(lower->left, upper->left) : kBeside);
    right += share * (lower && upper ? std::min(lower->right, upper->right) : -kBeside);
    if (least_width - narrower > judged.protrusion) {
      judged.protrusion = least_width - narrower;
      judged.worst_point = board.corner + a * board.along;
    }
  }
  judged.protrusion = std::max({judged.protrusion, left, board.width - right});
  judged.there = judged.protrusion <= tolerance;
  return judged;
}

const Product* product_of(const SawPlan& plan, const std::string& name) {
  for (const Product& product : plan.order.products)
    if (product.name == name) return &product;
  return nullptr;
}

JudgedPlan judge_with(const SawPlan& plan, const Eigen::Matrix4d& truth_scan_to_log,
                      const Depth& depth, double tolerance) {
  const Eigen::Matrix4d plan_to_truth = truth_scan_to_log * plan.scan_to_log.inverse();
  JudgedPlan judged;
  for (const Board& board : plan.boards) {
    const Product* product = product_of(plan, board.product);
    const Board there = carried(board, plan_to_truth);
    judged.boards.push_back(
        product != nullptr && product->live_edge
            ? judge_slab(there, product->width, depth, tolerance)
            : judge_board(there, product != nullptr ? product->wane : Wane(), depth, tolerance));
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
