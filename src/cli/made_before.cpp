#include "made_before.hpp"

#include <algorithm>
#include <optional>

#include "kerfwright/archive/tally.hpp"
#include "kerfwright/error.hpp"

namespace kerfwright::cli {
namespace {

// What a measured piece may lack of its product (common practice, no source).
constexpr double off_in_section = 3.0;  // mm
constexpr double off_in_length = 20.0;  // mm

struct Size {
  double thickness = 0, width = 0, length = 0;
};

/// Place of the longest length of a product that a piece holds.
std::optional<std::size_t> length_in(const Size& piece, const Product& product) {
  if (piece.thickness < product.thickness - off_in_section) return std::nullopt;
  if (piece.width < product.width - off_in_section) return std::nullopt;
  std::optional<std::size_t> longest;
  for (std::size_t i = 0; i < product.lengths.size(); ++i) {
    if (product.lengths[i] > piece.length + off_in_length) continue;
    if (!longest || product.lengths[i] > product.lengths[*longest]) longest = i;
  }
  return longest;
}

/// The counted product that a piece holds and that fetches the most.
std::optional<std::size_t> dearest_in(const Size& piece, const Order& order) {
  std::optional<std::size_t> best;
  double most = -1.0;
  for (std::size_t p = 0; p < order.products.size(); ++p) {
    const Product& product = order.products[p];
    const auto length = length_in(piece, product);
    if (!product.wanted || !length || product.value_of(*length) <= most) continue;
    most = product.value_of(*length);
    best = p;
  }
  return best;
}

}  // namespace

std::vector<int> made_before(const SawPlan& plan, const std::string& tally, const std::string& name,
                             const Order& order) {
  std::vector<int> made(order.products.size(), 0);
  const Tally pieces = parse_tally(tally, name);
  compare_tally(plan, pieces, name);  // refuses boards that the plan has not
  for (const TalliedPiece& piece : pieces.pieces) {
    Size size{piece.thickness.value_or(0.0), piece.width.value_or(0.0), piece.length.value_or(0.0)};
    const auto board = std::find_if(plan.boards.begin(), plan.boards.end(),
                                    [&](const Board& one) { return one.id == piece.board; });
    std::optional<std::size_t> product;
    if (board != plan.boards.end()) {
      size = {piece.thickness.value_or(board->thickness), piece.width.value_or(board->width),
              piece.length.value_or(board->length)};
      const Product* named = product_of(*board, order);
      if (named != nullptr && length_in(size, *named)) {
        product = static_cast<std::size_t>(named - order.products.data());
      }
    }
    if (!product) product = dearest_in(size, order);
    if (product) ++made[*product];
  }
  return made;
}

}  // namespace kerfwright::cli
