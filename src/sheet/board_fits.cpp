#include "board_fits.hpp"

#include <algorithm>
#include <cmath>

#include "kerfwright/saw/replay.hpp"

namespace kerfwright::sheet {
namespace {

constexpr double tolerance = 0.05;  // mm; half of what replay allows
constexpr double probe_step = 10.0;

int steps(double length) { return std::max(1, static_cast<int>(std::ceil(length / probe_step))); }

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
    least = std::min({least, rim_depth(board, shape, a, 0.0, wane.thickness * board.thickness),
                      rim_depth(board, shape, a, wane.width * board.width, 0.0)});
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
