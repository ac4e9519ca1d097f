#include "name_by_boards.hpp"

#include <algorithm>

namespace kerfwright::saw {
namespace {

template <typename Is>
std::size_t count(const SawPlan& plan, Is is) {
  return static_cast<std::size_t>(
      std::count_if(plan.boards.begin(), plan.boards.end(), [&](const Board& board) {
        return std::any_of(
            plan.order.products.begin(), plan.order.products.end(),
            [&](const Product& product) { return product.name == board.product && is(product); });
      }));
}

}  // namespace

void name_by_boards(SawPlan& plan, const std::vector<Pattern>& patterns) {
  const std::size_t slabs = count(plan, [](const Product& product) { return product.live_edge; });
  const std::size_t blanks = count(plan, [](const Product& product) { return product.blank; });
  const std::string_view live = pattern_name(Pattern::live);
  const bool renamed = blanks > 0 && slabs + blanks == plan.boards.size() && plan.pattern == live &&
                       !is_among(patterns, Pattern::live);
  if (renamed) plan.pattern = pattern_name(Pattern::blanks);
  if (slabs == 0) return;
  const std::string name(pattern_name(Pattern::slabs));
  plan.pattern = slabs == plan.boards.size() ? name : plan.pattern + ", " + name;
}

}  // namespace kerfwright::saw
