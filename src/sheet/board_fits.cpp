#include "board_fits.hpp"

#include <algorithm>
#include <cmath>

#include "kerfwright/shape/section.hpp"

namespace kerfwright::sheet {
namespace {

constexpr double tolerance = 0.05;  // mm; half of what replay allows
constexpr double probe_step = 10.0;

int steps(double length) { return std::max(1, static_cast<int>(std::ceil(length / probe_step))); }

/// How deep in the wood the rim of a section of the board lies, smaller by `across` and `up` on
/// both sides, mm at its worst.
double depth_of(const LogShape& shape, const Board& board, double a, double across, double up) {
  double least = 1e9;
  const auto probe = [&](double b, double c) {
    const Eigen::Vector3d point = board.corner + a * board.along + b * board.across + c * board.up;
    least = std::min(least, depth_inside(shape, point, Bark::off));
  };
  const double width = board.width - 2.0 * across;
  const double thickness = board.thickness - 2.0 * up;
  for (int i = 0; i <= steps(board.width); ++i) {
    const double b = across + width * i / steps(board.width);
    probe(b, up);
    probe(b, board.thickness - up);
  }
  for (int i = 0; i <= steps(board.thickness); ++i) {
    const double c = up + thickness * i / steps(board.thickness);
    probe(across, c);
    probe(board.width - across, c);
  }
  return least;
}

/// The least depth of a board, or the first that is less than `enough`.
double least_depth(const Board& board, const Order& order, const LogShape& shape, double enough) {
  const auto product =
      std::find_if(order.products.begin(), order.products.end(),
                   [&](const Product& other) { return other.name == board.product; });
  if (product != order.products.end() && product->live_edge) return 0.0;  // as wide as it comes
  const Wane wane = product == order.products.end() ? Wane() : product->wane;
  double least = 1e9;
  for (int i = 0; i <= steps(board.length) && least >= enough; ++i) {
    const double a = board.length * i / steps(board.length);
    least = std::min({least, depth_of(shape, board, a, 0.0, wane.thickness * board.thickness),
                      depth_of(shape, board, a, wane.width * board.width, 0.0)});
  }
  return least;
}

}  // namespace

bool fits(const Board& board, const Order& order, const LogShape& shape) {
  return least_depth(board, order, shape, -tolerance) >= -tolerance;
}

double shortfall(const Board& board, const Order& order, const LogShape& shape) {
  const double depth = least_depth(board, order, shape, -1e9);
  return depth >= -tolerance ? 0.0 : -depth;
}

}  // namespace kerfwright::sheet
