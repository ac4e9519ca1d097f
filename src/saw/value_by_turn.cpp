#include "kerfwright/saw/value_by_turn.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>

#include "planner.hpp"

namespace kerfwright {
namespace {

using namespace saw;

constexpr double margin_sigmas = 1.0;  // as plans are made
constexpr double inset = 0.15;         // mm, likewise
constexpr double quick_step = 1.0;     // mm, of heights and across: a curve to look at
constexpr double slope_tried = 0.01;   // beside level: 10 mm a metre, what levels most tapers

double worth_at(const Wood& wood, const Catalogue& catalogue, double roll) {
  double best = 0.0;
  for (const double slope : {0.0, -slope_tried, slope_tried}) {
    PoseSearch search(wood, catalogue, {roll, slope});
    if (search.live_bound() > best) best = std::max(best, search.best_live(best).worth);
  }
  return best;
}

}  // namespace

std::vector<TurnWorth> value_by_turn(const LogShape& shape, const Order& order, const Mill& mill,
                                     int turns) {
  const Wood wood = wood_of(shape, margin_sigmas, inset);
  const double step = std::max(quick_step, grid_of(wood, order, mill, slope_tried).step);
  const HeightGrid grid = grid_for(wood, step, slope_tried);
  const Catalogue catalogue =
      catalogue_of(order, mill, prices_of(order, mill), grid, wood.length(), wood.reach(), false,
                   static_cast<int>(quick_step * units_per_mm));
  const auto count = static_cast<std::size_t>(turns);
  std::vector<TurnWorth> all(2 * count);
  if (catalogue.classes.empty()) return {};
#pragma omp parallel for schedule(dynamic, 1)
  for (std::size_t i = 0; i < count; ++i) {
    const double worth =
        worth_at(wood, catalogue, std::numbers::pi * static_cast<double>(i) / turns);
    all[i] = {180.0 * static_cast<double>(i) / turns, worth};
    all[i + count] = {all[i].turn + 180.0, worth};
  }
  return all;
}

}  // namespace kerfwright
