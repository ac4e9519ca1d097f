#include "board_fits.hpp"

#include <algorithm>
#include <cmath>

#include "kerfwright/shape/section.hpp"

namespace kerfwright::sheet {
namespace {

constexpr double tolerance = 0.05;  // mm; half of what replay allows
constexpr double probe_step = 10.0;

int steps(double length) { return std::max(1, static_cast<int>(std::ceil(length / probe_step))); }

/// Whether the rim of a section of the board, smaller by `across` and `up` on both sides, is wood.
bool is_wood(const LogShape& shape, const Board& board, double a, double across, double up) {
  const auto inside = [&](double b, double c) {
    const Eigen::Vector3d point = board.corner + a * board.along + b * board.across + c * board.up;
    return depth_inside(shape, point, Bark::off) >= -tolerance;
  };
  const double width = board.width - 2.0 * across;
  const double thickness = board.thickness - 2.0 * up;
  for (int i = 0; i <= steps(board.width); ++i) {
    const double b = across + width * i / steps(board.width);
    if (!inside(b, up) || !inside(b, board.thickness - up)) return false;
  }
  for (int i = 0; i <= steps(board.thickness); ++i) {
    const double c = up + thickness * i / steps(board.thickness);
    if (!inside(across, c) || !inside(board.width - across, c)) return false;
  }
  return true;
}

}  // namespace

bool fits(const Board& board, const Order& order, const LogShape& shape) {
  const auto product =
      std::find_if(order.products.begin(), order.products.end(),
                   [&](const Product& other) { return other.name == board.product; });
  if (product != order.products.end() && product->live_edge) return true;  // as wide as it comes
  const Wane wane = product == order.products.end() ? Wane() : product->wane;
  for (int i = 0; i <= steps(board.length); ++i) {
    const double a = board.length * i / steps(board.length);
    if (!is_wood(shape, board, a, 0.0, wane.thickness * board.thickness)) return false;
    if (!is_wood(shape, board, a, wane.width * board.width, 0.0)) return false;
  }
  return true;
}

}  // namespace kerfwright::sheet
