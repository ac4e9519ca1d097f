#include <algorithm>
#include <cmath>
#include <map>
#include <set>

#include "lane_marks.hpp"
#include "lanes.hpp"

namespace kerfwright::saw {
namespace {

constexpr double hair = 1e-6;                 // mm, for sizes that are whole but for rounding
constexpr double most_rounding_loss = 0.005;  // of a size with its kerf

/// What a cross-cut of one piece costs.
double cross_cut_cost(const Product& product, const Mill& mill) {
  const double area_m2 = product.thickness * product.width * 1e-6;
  return mill.hourly_rate * (mill.minutes_per_cross_cut + area_m2 / mill.feed_rate) / 60.0;
}

/// What a piece can fetch at most, less what it costs to cut it to length.
double price_of(const Product& product, std::size_t length, const Mill& mill) {
  return product.value_of(length) * most_factor(product) - cross_cut_cost(product, mill);
}

int ceil_steps(double mm, double step) { return static_cast<int>(std::ceil(mm / step - hair)); }
int floor_steps(double mm, double step) { return static_cast<int>(std::floor(mm / step + hair)); }

Trimming trimming_of(const Product& product, const std::vector<double>& prices, double kerf,
                     double length) {
  const auto most = static_cast<std::size_t>(std::floor(length));
  Trimming trimming{std::vector<float>(most + 1, 0.0F), std::vector<int>(most + 1, -1)};
  for (std::size_t run = 1; run <= most; ++run) {
    float best = trimming.worth[run - 1];
    int piece = trimming.piece[run - 1];
    for (std::size_t i = 0; i < product.lengths.size(); ++i) {
      if (product.lengths[i] > static_cast<double>(run) + hair) continue;
      const auto taken = static_cast<std::size_t>(ceil_steps(product.lengths[i] + kerf, 1.0));
      const float rest = taken < run ? trimming.worth[run - taken] : 0.0F;
      if (static_cast<float>(prices[i]) + rest <= best) continue;
      best = static_cast<float>(prices[i]) + rest;
      piece = static_cast<int>(i);
    }
    trimming.worth[run] = best;
    trimming.piece[run] = piece;
  }
  return trimming;
}

/// What a piece is worth by its place, so that at the best place it is worth its price.
std::shared_ptr<const LaneWorth> lane_worth_of(const Product& product, const Mill& mill,
                                               const std::vector<double>& prices) {
  auto worth = std::make_shared<LaneWorth>();
  worth->product = product;
  worth->grades = grade_factors(product);
  worth->most = most_factor(product);
  worth->price = prices;
  for (std::size_t i = 0; i < prices.size(); ++i) {
    const double full = price_of(product, i, mill);
    const double share = full > 0.0 ? prices[i] / full : 1.0;
    worth->value.push_back(share * product.value_of(i));
  }
  return worth;
}

Lane lane_of(const Order& order, const Mill& mill, int index, const Prices& prices,
             const Catalogue& catalogue) {
  const Product& product = order.products[static_cast<std::size_t>(index)];
  Lane lane;
  lane.product = index;
  lane.width = product.width;
  lane.width_units = ceil_steps(product.width, 1.0 / units_per_mm);
  const double step = static_cast<double>(catalogue.step_units) / units_per_mm;
  lane.pitch_steps = ceil_steps(product.width + catalogue.kerf, step);
  if (!product.wane.none()) {
    lane.wane_units = floor_steps(product.wane.width * product.width, 1.0 / units_per_mm);
    lane.wane_length = product.wane.length;
  }
  lane.boxed_heart = product.boxed_heart;
  lane.rip_cost =
      catalogue.fixed_rip_cost + catalogue.area_cost * product.thickness * catalogue.length;
  lane.start_cost = cross_cut_cost(product, mill);
  lane.trimming = trimming_of(product, prices[static_cast<std::size_t>(index)], catalogue.kerf,
                              catalogue.length);
  lane.by_place = lane_worth_of(product, mill, prices[static_cast<std::size_t>(index)]);
  return lane;
}

/// A product with live edges, as a flitch that is only cut to length yields it.
Slab slab_of(const Order& order, const Mill& mill, int index, const std::vector<double>& prices) {
  const Product& product = order.products[static_cast<std::size_t>(index)];
  Slab slab;
  slab.product = index;
  slab.least_width = product.width;
  slab.boxed_heart = product.boxed_heart;
  slab.by_place = lane_worth_of(product, mill, prices);
  const double per_minute = mill.hourly_rate / 60.0;
  for (std::size_t i = 0; i < prices.size(); ++i) {
    const double full = price_of(product, i, mill);
    const double share = full > 0.0 ? prices[i] / full : prices[i] > 0.0 ? 1.0 : 0.0;
    const double length = product.lengths[i];
    slab.lengths.push_back({length, share * product.value_of(i, 1.0) / length,
                            share * per_minute * mill.minutes_per_cross_cut,
                            share * per_minute * product.thickness * 1e-6 / mill.feed_rate});
  }
  return slab;
}

double most_per_mm(const Product& product, const std::vector<double>& prices) {
  double most = 0.0;
  for (std::size_t i = 0; i < prices.size(); ++i) {
    most = std::max(most, prices[i] / product.lengths[i]);
  }
  return most;
}

/// Gives each lane the largest wane of its class that it may have.
void tell_wanes_apart(FlitchClass& flitch, const Order& order, double step) {
  const auto strips_of = [&](const Lane& lane) {
    const Product& product = order.products[static_cast<std::size_t>(lane.product)];
    return floor_steps(product.wane.thickness * product.thickness, step);
  };
  std::set<int> wanes;
  for (const Lane& lane : flitch.lanes) {
    if (lane.wane_units > 0) wanes.insert(strips_of(lane));
  }
  // The strictest come first: a lane may always be given less wane than it may have.
  for (const int wane : wanes) {
    if (flitch.wanes.size() < most_wanes) flitch.wanes.push_back(wane);
  }
  for (Lane& lane : flitch.lanes) {
    if (lane.wane_units == 0) continue;
    for (std::size_t i = 0; i < flitch.wanes.size(); ++i) {
      if (flitch.wanes[i] <= strips_of(lane)) lane.wane = static_cast<int>(i);
    }
  }
}

FlitchClass class_of(const Order& order, const Mill& mill, double thickness, const Prices& prices,
                     const Catalogue& catalogue, int most_mm, bool live_edges) {
  FlitchClass flitch;
  flitch.thickness = thickness;
  flitch.strips = catalogue.grid.strips(thickness);
  flitch.pitch = catalogue.grid.strips(thickness + catalogue.kerf);
  std::vector<double> density, whole;
  for (std::size_t i = 0; i < order.products.size(); ++i) {
    const Product& product = order.products[i];
    const bool unwanted = product.wanted == 0 && product.beyond <= 0.0;
    if (product.thickness != thickness || unwanted || product.live_edge != live_edges) continue;
    flitch.boxes_heart = flitch.boxes_heart || product.boxed_heart;
    if (live_edges) {
      flitch.slabs.push_back(slab_of(order, mill, static_cast<int>(i), prices[i]));
      continue;
    }
    flitch.lanes.push_back(lane_of(order, mill, static_cast<int>(i), prices, catalogue));
    density.push_back(most_per_mm(product, prices[i]));
    const Lane& lane = flitch.lanes.back();
    const double cost = lane.rip_cost + lane.start_cost;
    whole.push_back(std::max(0.0, static_cast<double>(lane.trimming.worth.back()) - cost));
    flitch.least_cost = flitch.lanes.size() == 1 ? cost : std::min(flitch.least_cost, cost);
    flitch.beside_bark = lane.rip_cost;  // all lanes of a class are as thick
  }
  tell_wanes_apart(flitch, order, catalogue.grid.step);
  flitch.density = packing(flitch.lanes, density, catalogue.kerf, most_mm);
  flitch.whole = packing(flitch.lanes, whole, catalogue.kerf, most_mm);
  return flitch;
}

}  // namespace

double densest(const Catalogue& catalogue, double size) {
  double most = 0.0;
  for (const FlitchClass& flitch : catalogue.classes) {
    const auto widest =
        std::min(static_cast<std::size_t>(std::ceil(size)), flitch.density.size() - 1);
    for (std::size_t width = 1; width <= widest; ++width) {
      most = std::max(most, static_cast<double>(flitch.density[width]) /
                                (static_cast<double>(width) * (flitch.thickness + catalogue.kerf)));
    }
  }
  return most;
}

namespace {

/// Whether rounding sizes with their kerf up to whole steps takes no more than a share of any.
bool lose_little(const std::vector<double>& sizes, double kerf, double step, double share) {
  return std::all_of(sizes.begin(), sizes.end(), [&](double size) {
    const double mm = size + kerf;
    return ceil_steps(mm, step) * step - mm <= share * mm + hair;
  });
}

/// Coarsest step in which the widths lose little, in units. Where a tape in inches shows every
/// width with its kerf, none may lose anything: the tape cannot show what rounding adds.
int lateral_step(const std::vector<double>& widths, const Mill& mill) {
  const double share = mill.inches ? 0.0 : most_rounding_loss;
  for (const int units : {10, 5, 2}) {
    const double step = static_cast<double>(units) / units_per_mm;
    if (lose_little(widths, mill.kerf, step, share)) return units;
  }
  return 1;
}

}  // namespace

std::vector<float> packing(const std::vector<Lane>& lanes, const std::vector<double>& worth,
                           double kerf, int most_mm) {
  std::vector<float> table(static_cast<std::size_t>(most_mm) + 1, 0.0F);
  const int extra = static_cast<int>(std::ceil(kerf));
  std::vector<float> best(table.size() + static_cast<std::size_t>(extra), 0.0F);
  for (std::size_t c = 1; c < best.size(); ++c) {
    best[c] = best[c - 1];
    for (std::size_t k = 0; k < lanes.size(); ++k) {
      const auto need = static_cast<std::size_t>(std::floor(lanes[k].width + kerf + hair));
      if (need > c) continue;
      best[c] = std::max(best[c], static_cast<float>(worth[k]) + best[c - need]);
    }
  }
  for (std::size_t w = 0; w < table.size(); ++w) {
    table[w] = best[w + static_cast<std::size_t>(extra)];
  }
  return table;
}

double common_step(double wish, double kerf, const std::vector<double>& sizes) {
  const int most_parts = std::max(1, static_cast<int>(wish / finest_step + 1e-9));
  for (int parts = 1; parts <= most_parts; ++parts) {
    const double step = wish / parts;
    if (lose_little(sizes, kerf, step, most_rounding_loss)) return step;
  }
  return wish / most_parts;
}

Prices prices_of(const Order& order, const Mill& mill) {
  Prices prices;
  for (const Product& product : order.products) {
    prices.emplace_back();
    for (std::size_t i = 0; i < product.lengths.size(); ++i) {
      prices.back().push_back(price_of(product, i, mill));
    }
  }
  return prices;
}

Catalogue catalogue_of(const Order& order, const Mill& mill, const Prices& prices,
                       const HeightGrid& grid, double length, double reach, bool thin_cants,
                       int units_across) {
  Catalogue catalogue;
  catalogue.grid = grid;
  catalogue.kerf = mill.kerf;
  catalogue.kerf_strips = grid.strips(mill.kerf);
  catalogue.length = length;
  catalogue.max_cut_width = mill.max_cut_width;
  catalogue.lowest_cut = mill.lowest_cut;
  catalogue.turn_cost = mill.hourly_rate * mill.minutes_per_turn / 60.0;
  catalogue.bunks = mill.bunks;
  catalogue.tape_step = mill.tape_step();
  catalogue.fixed_cut_cost = mill.hourly_rate * mill.minutes_per_cut / 60.0;
  catalogue.fixed_rip_cost = mill.hourly_rate * mill.minutes_per_edging / 60.0;
  catalogue.fixed_cross_cost = mill.hourly_rate * mill.minutes_per_cross_cut / 60.0;
  catalogue.area_cost = mill.hourly_rate / 60.0 / mill.feed_rate * 1e-6;
  std::vector<double> widths;
  std::set<double> thicknesses, cants;
  for (const Product& product : order.products) {
    thicknesses.insert(product.thickness);
    if (!product.live_edge) {
      widths.push_back(product.width);
      cants.insert(product.width);
    }
    catalogue.lengths.push_back(product.lengths);
    if (product.grades || product.grain || !product.figure.empty()) catalogue.by_place = true;
  }
  catalogue.step_units = units_across > 0 ? units_across : lateral_step(widths, mill);
  const int most_mm = static_cast<int>(std::ceil(2.0 * reach)) + 2;
  for (const double thickness : thicknesses) {
    for (const bool live_edges : {false, true}) {
      FlitchClass flitch = class_of(order, mill, thickness, prices, catalogue, most_mm, live_edges);
      const bool yields = !flitch.lanes.empty() || !flitch.slabs.empty();
      if (yields && flitch.strips < grid.levels) catalogue.classes.push_back(std::move(flitch));
    }
  }
  for (const double size : cants) {
    // A cant thinner than about a quarter of the log is a flitch to be ripped, not one to be
    // turned.
    const double least = thin_cants ? 0.0 : 0.5 * reach;
    if (size >= 2.0 * reach || size < least || size > mill.max_cut_width) continue;
    catalogue.cant_sizes.push_back(size);
    catalogue.most_per_mm3.push_back(densest(catalogue, size));
  }
  return catalogue;
}

}  // namespace kerfwright::saw
