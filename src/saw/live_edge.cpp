#include "kerfwright/saw/live_edge.hpp"

#include <cmath>
#include <vector>

#include "kerfwright/shape/section.hpp"

namespace kerfwright {
namespace {

constexpr double section_step = 10.0;  // mm
constexpr int rounds = 3;  // where the section is not square to the chord, towards each edge

struct Stretch {
  double left = 0, right = 0;
};

/// The widest stretch of wood on the line that the face at height `c` leaves in the section at x.
std::optional<Stretch> widest(const Board& board, const LogShape& shape, double x, double c) {
  const Outline outline = section_outline_at(shape, x, Bark::off);
  const double height = board.up.dot(board.corner) + c - board.up.x() * x;
  const Eigen::Vector2d up = board.up.tail<2>();
  const auto lateral = [&](const Eigen::Vector2d& p) {
    return board.across.dot(Eigen::Vector3d(x, p.x(), p.y()) - board.corner);
  };
  std::vector<double> crossings;
  for (std::size_t j = 0; j < outline.size(); ++j) {
    const Eigen::Vector2d& p = outline[j];
    const Eigen::Vector2d& q = outline[j + 1 == outline.size() ? 0 : j + 1];
    const double hp = up.dot(p) - height;
    const double hq = up.dot(q) - height;
    if ((hp < 0.0) == (hq < 0.0)) continue;
    crossings.push_back(lateral(p + (q - p) * (hp / (hp - hq))));
  }
  std::sort(crossings.begin(), crossings.end());
  std::optional<Stretch> best;
  for (std::size_t i = 0; i + 1 < crossings.size(); i += 2) {
    const Stretch stretch{crossings[i], crossings[i + 1]};
    if (!best || stretch.right - stretch.left > best->right - best->left) best = stretch;
  }
  return best;
}

std::optional<Stretch> on_face(const Board& board, const LogShape& shape, double a, double c) {
  const double x = board.corner.x() + a * board.along.x() + c * board.up.x();
  const auto at = [&](double b) {
    return widest(board, shape, std::clamp(x + b * board.across.x(), 0.0, shape.length()), c);
  };
  auto found = at(0.5 * board.width);
  if (!found || std::abs(board.across.x()) < 1e-9) return found;
  for (int i = 0; i < rounds; ++i) {
    const auto left = at(found->left);
    const auto right = at(found->right);
    if (!left || !right) return std::nullopt;
    found = {left->left, right->right};
  }
  return found;
}

}  // namespace

std::optional<LiveSection> live_section(const Board& board, const LogShape& shape, double a) {
  const auto lower = on_face(board, shape, a, 0.0);
  const auto upper = on_face(board, shape, a, board.thickness);
  if (!lower || !upper) return std::nullopt;
  return LiveSection{lower->left, lower->right, upper->left, upper->right};
}

std::vector<Eigen::Vector3d> live_corners(const Board& board, const LogShape& shape, double a) {
  const auto section = live_section(board, shape, a);
  if (!section) return {};
  const auto at = [&](double b, double c) -> Eigen::Vector3d {
    return board.corner + a * board.along + b * board.across + c * board.up;
  };
  return {at(section->lower_left, 0.0), at(section->lower_right, 0.0),
          at(section->upper_right, board.thickness), at(section->upper_left, board.thickness)};
}

LiveEdges live_edges(const Board& board, const LogShape& shape) {
  const int steps = std::max(1, static_cast<int>(std::ceil(board.length / section_step)));
  LiveEdges edges;
  edges.least_width = 1e9;
  for (int i = 0; i <= steps; ++i) {
    const auto section = live_section(board, shape, board.length * i / steps);
    if (!section) return {};
    edges.least_width = std::min(edges.least_width, section->narrower());
    const double share = (i == 0 || i == steps ? 0.5 : 1.0) / steps;
    edges.mean_left += share * section->left();
    edges.mean_right += share * section->right();
  }
  return edges;
}

double live_shortfall(const Board& board, const Product& product, const LogShape& shape) {
  const LiveEdges edges = live_edges(board, shape);
  return std::max(
      {0.0, product.width - edges.least_width, edges.mean_left, board.width - edges.mean_right});
}

}  // namespace kerfwright
