#include "board_fits.hpp"

#include <algorithm>
#include <cmath>

#include "kerfwright/saw/live_edge.hpp"
#include "kerfwright/saw/replay.hpp"

namespace kerfwright::sheet {
namespace {

constexpr double tolerance = 0.05;  // mm; half of what replay allows
constexpr double probe_step = 10.0;

int steps(double length) { return std::max(1, static_cast<int>(std::ceil(length / probe_step))); }

/// The least depth of a board, or the first that is less than `enough`; of a slab how much wider
/// than it must be it is where it is narrowest.
double least_depth(const Board& board, const Order& order, const LogShape& shape, double enough) {
  const Product* product = product_of(board, order);
  if (product != nullptr && product->live_edge) {
    return live_edges(board, shape).least_width - product->width;
  }
  const Wane wane = product == nullptr ? Wane() : product->wane;
  double least = 1e9;
  for (int i = 0; i <= steps(board.length) && least >= enough; ++i) {
    const double a = board.length * i / steps(board.length);
    least = std::min(least, section_depth(board, wane, shape, a));
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

double share_there(const Board& board, const Order& order, const LogShape& shape) {
  if (!fits(board, order, shape)) return 0.0;
  const Product* product = product_of(board, order);
  if (product == nullptr || !product->live_edge) return 1.0;
  return std::min(1.0, (live_edges(board, shape).mean_width() + tolerance) / board.width);
}

bool is_slab(const Board& board, const Order& order) {
  const Product* product = product_of(board, order);
  return product != nullptr && product->live_edge;
}

}  // namespace kerfwright::sheet
