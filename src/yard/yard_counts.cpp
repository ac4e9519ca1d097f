#include "yard_counts.hpp"

#include <optional>

#include "kerfwright/shape/measure.hpp"
#include "sheet/lengths.hpp"

namespace kerfwright::yard {

namespace {

std::optional<Stick> stick_of(const Board& board, const Order& order) {
  const Product* product = product_of(board, order);
  if (product == nullptr) return std::nullopt;
  return Stick{static_cast<std::size_t>(product - order.products.data()), board.length};
}

}  // namespace

Sticks sticks_of(const SawPlan& plan, const Order& order) {
  Sticks sticks;
  for (const Board& board : plan.boards) {
    if (const auto stick = stick_of(board, order)) ++sticks[*stick];
  }
  return sticks;
}

std::vector<Pile> piles_of(const YardPlan& plan) {
  std::map<Stick, Pile> piles;
  for (const std::size_t log : plan.sawing) {
    for (const auto& [stick, count] : sticks_of(*plan.plans[log], plan.order)) {
      Pile& pile = piles[stick];
      pile.stick = stick;
      pile.pieces += count;
      pile.from.emplace_back(log, count);
    }
    for (const Board& board : plan.plans[log]->boards) {
      const auto stick = stick_of(board, plan.order);
      if (stick) piles[*stick].m3 += board.thickness * board.width * board.length * 1e-9;
    }
  }
  std::vector<Pile> all;
  for (auto& [stick, pile] : piles) all.push_back(std::move(pile));
  return all;
}

std::string size_words(const Product& product, double length, const Mill& mill) {
  const sheet::Lengths lengths(mill);
  if (!product.live_edge) return lengths.size(product.thickness, product.width, length);
  return lengths.number(product.thickness) + " thick, live edges, " + lengths.text(length) +
         " long";
}

std::string count_words(int n, const std::string& one, const std::string& many) {
  return std::to_string(n) + " " + (n == 1 ? one : many);
}

std::string log_words(const LogShape& shape, const Mill& mill) {
  const sheet::Lengths lengths(mill);
  const LogMeasures measures = measure(shape);
  return lengths.text(measures.length) + " long, " + lengths.text(measures.middle.mean_under_bark) +
         " thick in the middle under bark";
}

}  // namespace kerfwright::yard
