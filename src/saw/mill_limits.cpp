#include "mill_limits.hpp"

#include <algorithm>
#include <cmath>
#include <cstdio>
#include <numbers>
#include <string>

#include "frame.hpp"
#include "kerfwright/error.hpp"
#include "kerfwright/shape/section.hpp"
#include "kerfwright/trade/species.hpp"
#include "worth.hpp"

namespace kerfwright {
namespace {

std::string whole(double x) { return std::to_string(std::lround(x)); }

std::string money(double x) {
  char text[64];
  std::snprintf(text, sizeof text, "%.2f", x);
  return text;
}

[[noreturn]] void refuse_log(const std::string& what) {
  throw UserError(Fault::log_beyond_mill,
                  "The mill cannot hold this log: " + what +
                      " Cross-cut the log or take it to a larger mill; if the mill can hold it, "
                      "say so in the mill's file.");
}

}  // namespace

void refuse_log_beyond_mill(const LogShape& shape, const Order& order, const Mill& mill) {
  double thickest = 0.0;
  for (std::size_t i = 0; i < shape.stations.size(); ++i) {
    thickest = std::max(thickest, outline_area(section_outline(shape, i, Bark::on)));
  }
  const double diameter = 2.0 * std::sqrt(thickest / std::numbers::pi);
  if (diameter > mill.max_diameter) {
    refuse_log("it is " + whole(diameter) + " mm thick over bark, and 'max_diameter' is " +
               whole(mill.max_diameter) + " mm.");
  }
  if (order.species.empty()) return;
  const auto& density = find_species(order.species).green_density;
  if (!density) return;
  const double mass = density->value * solid_volume_m3(shape, Bark::on);
  if (mass > mill.max_log_mass) {
    refuse_log("it weighs about " + whole(mass) + " kg green (" + order.species + ", " +
               whole(density->value) + " kg/m3), and 'max_log_mass' is " +
               whole(mill.max_log_mass) + " kg.");
  }
}

void refuse_worthless_pieces(const Order& order, const Mill& mill) {
  std::string nearest;
  double least_loss = 1e300;
  const saw::Prices prices = saw::prices_of(order, mill);
  for (std::size_t p = 0; p < prices.size(); ++p) {
    const Product& product = order.products[p];
    if (product.live_edge) return;
    for (std::size_t i = 0; i < prices[p].size(); ++i) {
      if (prices[p][i] > 0.0) return;
      const double value = product.value_of(i);
      if (-prices[p][i] >= least_loss) continue;
      least_loss = -prices[p][i];
      nearest = "'" + product.name + "' of " + whole(product.lengths[i]) + " mm fetches " +
                money(value) + " " + order.currency + " and costs " + money(value - prices[p][i]) +
                " to cut to length";
    }
  }
  throw UserError(Fault::no_product_fits,
                  "Every piece of the order fetches less than the sawing costs: even " + nearest +
                      ", at an 'hourly_rate' of " + money(mill.hourly_rate) +
                      "; ask for better paid pieces or count the hour cheaper.");
}

}  // namespace kerfwright

namespace kerfwright::saw {
namespace {

/// Raises `widest[k]` to the width of a section, given as heights in grid steps and lateral mm, at
/// level k: from its leftmost to its rightmost crossing.
void widen(const std::vector<double>& level, const std::vector<double>& lateral,
           std::vector<double>& widest) {
  const std::size_t corners = level.size();
  std::vector<double> low(widest.size(), 1e9);
  std::vector<double> high(widest.size(), -1e9);
  for (std::size_t j = 0; j < corners; ++j) {
    const std::size_t next = j + 1 == corners ? 0 : j + 1;
    const double a = std::min(level[j], level[next]);
    const double b = std::max(level[j], level[next]);
    const int from = std::max(0, static_cast<int>(std::ceil(a)));
    const int to = std::min(static_cast<int>(widest.size()) - 1, static_cast<int>(std::floor(b)));
    for (int k = from; k <= to && b > a; ++k) {
      const double share = (k - level[j]) / (level[next] - level[j]);
      const double y = lateral[j] + share * (lateral[next] - lateral[j]);
      const auto at = static_cast<std::size_t>(k);
      low[at] = std::min(low[at], y);
      high[at] = std::max(high[at], y);
    }
  }
  for (std::size_t k = 0; k < widest.size(); ++k) widest[k] = std::max(widest[k], high[k] - low[k]);
}

}  // namespace

void forbid_wide_cuts(const Wood& wood, const Catalogue& catalogue, const Pose& pose,
                      std::vector<float>& costs) {
  if (2.0 * wood.reach_over_bark <= catalogue.max_cut_width) return;
  const HeightGrid& grid = catalogue.grid;
  const Frame frame(pose);
  const auto angles = static_cast<std::size_t>(wood.angles);
  std::vector<double> widest(static_cast<std::size_t>(grid.levels) + 1, 0.0);
  std::vector<double> level(angles), lateral(angles);
  for (std::size_t i = 0; i < wood.station_x.size(); ++i) {
    for (std::size_t j = 0; j < angles; ++j) {
      const Eigen::Vector3d bark(wood.station_x[i],
                                 static_cast<double>(wood.bark_y[i * angles + j]),
                                 static_cast<double>(wood.bark_z[i * angles + j]));
      lateral[j] = frame.across.dot(bark);
      level[j] = (frame.up.dot(bark) - grid.origin) / grid.step;
    }
    widen(level, lateral, widest);
  }
  // The blade leaves the wood between the levels `kerf` below and `upper`.
  for (int upper = 0; upper < static_cast<int>(costs.size()); ++upper) {
    const int lower = upper - catalogue.kerf_strips;
    for (int k = std::max(0, lower); k <= std::min(upper, grid.levels); ++k) {
      if (widest[static_cast<std::size_t>(k)] > catalogue.max_cut_width) {
        costs[static_cast<std::size_t>(upper)] = forbidden_cut;
      }
    }
  }
}

void forbid_cuts_at_metal(const Wood& wood, const Catalogue& catalogue, const Pose& pose,
                          const std::optional<CantClip>& clip, std::vector<float>& costs) {
  const Frame frame(pose);
  for (const Metal& metal : wood.marks->metal()) {
    const Eigen::Vector3d& at = metal.place;
    const double clear = metal.reach + metal_margin;
    if (clip) {
      const double lateral = units_per_mm * (frame.across.dot(at) - clip->lean * at.x());
      const double units = units_per_mm * metal.reach;
      if (lateral + units < clip->left || lateral - units > clip->right) continue;
    }
    const double height = frame.up.dot(at);
    const double low = (height - clear - catalogue.grid.origin) / catalogue.grid.step;
    const double high =
        (height + clear + catalogue.kerf - catalogue.grid.origin) / catalogue.grid.step;
    const int from = std::max(0, static_cast<int>(std::floor(low)));
    const int to = std::min(static_cast<int>(costs.size()) - 1, static_cast<int>(std::ceil(high)));
    for (int k = from; k <= to; ++k) costs[static_cast<std::size_t>(k)] = forbidden_cut;
  }
}

}  // namespace kerfwright::saw
