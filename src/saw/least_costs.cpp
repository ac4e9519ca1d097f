#include "least_costs.hpp"

#include <algorithm>
#include <cmath>
#include <numeric>

namespace kerfwright::saw {
namespace {

constexpr double fills_within = 4;  // mm; what reaches so far reaches to the log's end
constexpr int units_off = 2;        // by which each lane may lie beside face or cut that it shares
constexpr double out_of_square = 0.11;  // mm by which an end is out of square and not the log's own

/// Whether pieces with kerfs between can reach from one end of the log to the other, or nearly.
bool fill_log(const std::vector<double>& lengths, double kerf, double log) {
  const auto whole = static_cast<std::size_t>(std::max(0.0, log + kerf)) + 2;
  std::vector<char> reached(whole + 1, 0);
  reached[0] = 1;
  for (std::size_t at = 0; at <= whole; ++at) {
    for (const double length : lengths) {
      // Either way of rounding, so that no sum is missed.
      for (const double mm : {std::floor(length + kerf), std::ceil(length + kerf)}) {
        const std::size_t next = at + static_cast<std::size_t>(std::max(1.0, mm));
        if (reached[at] != 0 && next <= whole) reached[next] = 1;
      }
    }
  }
  return reached[whole] != 0 || reached[whole - 1] != 0 || reached[whole - 2] != 0 ||
         (whole > 3 && reached[whole - 3] != 0);
}

/// Most that a mm of a run can be worth.
/// @param spared what is not paid where pieces reach from one end of the log to the other
double most_per_mm(const Trimming& trimming, double spared) {
  double most = 0.0;
  for (std::size_t mm = 1; mm < trimming.worth.size(); ++mm) {
    most = std::max(most, static_cast<double>(trimming.worth[mm]) / static_cast<double>(mm));
  }
  if (trimming.worth.size() < 2) return most;
  const auto whole = static_cast<double>(trimming.worth.size() - 1);
  const double all = static_cast<double>(trimming.worth.back()) + spared;
  return std::max(most, all / std::max(1.0, whole - fills_within));
}

/// Most that lanes can be worth together which with kerfs between reach from face to face of a
/// cant, one rip spared; 0 where none do.
float most_of_filled(const FlitchClass& flitch, const std::vector<double>& whole, double kerf,
                     double size) {
  const auto units = [](double mm) { return static_cast<int>(std::lround(mm * units_per_mm)); };
  const int full = units(size + kerf);
  std::vector<double> best(static_cast<std::size_t>(full + units_off) + 1, -1.0);  // none
  best[0] = 0.0;
  for (std::size_t at = 0; at < best.size(); ++at) {
    if (best[at] < 0.0) continue;
    for (std::size_t k = 0; k < whole.size(); ++k) {
      for (int off = -units_off; off <= units_off; ++off) {
        const int pitch = std::max(1, units(flitch.lanes[k].width + kerf) + off);
        const std::size_t next = at + static_cast<std::size_t>(pitch);
        if (next < best.size()) best[next] = std::max(best[next], best[at] + whole[k]);
      }
    }
  }
  const double most = *std::max_element(best.end() - 2 * units_off - 1, best.end());
  return most < 0.0 ? 0.0F : static_cast<float>((most + flitch.beside_bark) * 1.00001);
}

/// Tells the class by least costs.
/// @param square whether a piece may end at the log's own end, where no cut is needed
void make_least(FlitchClass& flitch, const Catalogue& catalogue, bool square) {
  std::vector<double> whole, density;
  for (std::size_t k = 0; k < flitch.lanes.size(); ++k) {
    Lane& lane = flitch.lanes[k];
    double spared = 0.0;  // where pieces fill the log
    if (square) {
      const auto& lengths = catalogue.lengths[static_cast<std::size_t>(lane.product)];
      if (fill_log(lengths, catalogue.kerf, catalogue.length)) spared = lane.start_cost;
      lane.start_cost = -spared;
    }
    const double most =
        lane.trimming.worth.empty() ? 0.0 : static_cast<double>(lane.trimming.worth.back());
    const double cost = lane.rip_cost + lane.start_cost;
    whole.push_back(std::max(0.0, most - cost));
    density.push_back(most_per_mm(lane.trimming, spared));
    const double rest = lane.rip_cost + std::max(0.0, lane.start_cost);
    flitch.least_cost = k == 0 ? rest : std::min(flitch.least_cost, rest);
  }
  const int most_mm = static_cast<int>(flitch.whole.size()) - 1;
  flitch.whole = packing(flitch.lanes, whole, catalogue.kerf, most_mm);
  flitch.density = packing(flitch.lanes, density, catalogue.kerf, most_mm);
  flitch.filled.clear();
  for (const double size : catalogue.cant_sizes) {
    flitch.filled.push_back(most_of_filled(flitch, whole, catalogue.kerf, size));
  }
}

}  // namespace

LeastCosts::LeastCosts(const Catalogue& catalogue) {
  Catalogue least = catalogue;
  for (FlitchClass& flitch : least.classes) make_least(flitch, catalogue, true);
  for (std::size_t i = 0; i < least.cant_sizes.size(); ++i) {
    least.most_per_mm3[i] = densest(least, least.cant_sizes[i]);
  }
  catalogues_.push_back(least);
  from_slope_.push_back(0.0);
  std::vector<std::size_t> thickest_first(least.classes.size());
  std::iota(thickest_first.begin(), thickest_first.end(), std::size_t{0});
  std::stable_sort(thickest_first.begin(), thickest_first.end(), [&](std::size_t a, std::size_t b) {
    return catalogue.classes[a].thickness > catalogue.classes[b].thickness;
  });
  for (const std::size_t k : thickest_first) {
    least.classes[k] = catalogue.classes[k];
    make_least(least.classes[k], catalogue, false);
    catalogues_.push_back(least);
    from_slope_.push_back(out_of_square / catalogue.classes[k].thickness);
  }
}

const Catalogue& LeastCosts::from_slope(double least) const {
  const auto after = std::upper_bound(from_slope_.begin(), from_slope_.end(), std::max(0.0, least));
  return catalogues_[static_cast<std::size_t>(after - from_slope_.begin()) - 1];
}

}  // namespace kerfwright::saw
