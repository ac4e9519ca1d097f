#include "kerfwright/trade/target_size.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "kerfwright/error.hpp"
#include "kerfwright/trade/species.hpp"
#include "words.hpp"

namespace kerfwright {
namespace {

double share_below(double z) { return 0.5 * std::erfc(z / std::numbers::sqrt2); }

/// Shrinkage in % from green to the moisture of a finished size.
double shrinkage_of(const Order& order, const Product& product) {
  const Finished& finished = *product.finished;
  constexpr double fibre_saturation = 30;  // %; above it wood does not shrink
  if (finished.moisture >= fibre_saturation) return 0.0;
  if (order.species.empty()) {
    throw UserError(Fault::bad_order,
                    "The product " + in_quotes(product.name) +
                        " names a finished size, dry, and the order no species to tell how much "
                        "the wood shrinks; write species = \"oak\", or what it is, at the head of "
                        "the order or say --species.");
  }
  const Species& species = find_species(order.species);
  const double total = finished.shrinkage == ShrinkageBy::worst
                           ? species.tangential.value
                           : 0.5 * (species.radial.value + species.tangential.value);
  return shrinkage_at(total, finished.moisture);
}

double rounded_up(double size, double step) {
  constexpr double hair = 1e-6;  // of a step, for sizes that are whole but for rounding
  return std::ceil(size / step - hair) * step;
}

constexpr double hair = 0.05;  // mm, which no scale and no tape shows
constexpr double same = 1e-6;  // mm

}  // namespace

double undersize_quantile(double share) {
  constexpr double least = 0.001;
  const double wished = std::clamp(share, least, 0.5);
  double low = 0.0;
  double high = 10.0;
  for (int round = 0; round < 60; ++round) {
    const double middle = 0.5 * (low + high);
    (share_below(middle) > wished ? low : high) = middle;
  }
  return 0.5 * (low + high);
}

double critical_size(double finished, double planing, double shrinkage) {
  return (finished + planing) / (1.0 - shrinkage / 100.0);
}

double target_size(double finished, double planing, double shrinkage, double deviation,
                   double undersize) {
  return critical_size(finished, planing, shrinkage) + undersize_quantile(undersize) * deviation;
}

namespace {

/// The least size that is no less, but for a hair, and with what is sawn off beside it whole steps.
double on_scale(double size, double beside, double step) {
  const double all = size + beside;
  const double near = std::round(all / step) * step;
  if (std::abs(near - all) < same) return size;
  if (std::abs(near - all) < hair) return near - beside;
  return std::ceil(all / step) * step - beside;
}

/// The target size of a product that names a finished one.
void saw_green(const Order& order, const Mill& mill, Product& product) {
  const Finished& finished = *product.finished;
  const double shrinkage = shrinkage_of(order, product);
  const auto green = [&](double size) {
    return rounded_up(
        target_size(size, finished.planing, shrinkage, mill.sawing_variation, finished.undersize),
        mill.height_step);
  };
  const double thickness = green(finished.thickness);
  product.thickness = mill.inches ? on_scale(thickness, mill.kerf, mill.height_step) : thickness;
  product.width = green(finished.width);
}

/// What the scale and the tape make of a size that is asked for as sawn.
void saw_as_told(const Mill& mill, Product& product) {
  const double thickness = product.thickness;
  const double width = product.width;
  product.thickness = on_scale(thickness, mill.kerf, mill.height_step);
  // The natural edges of a slab are not sawn, and it is paid by its mean width.
  if (!product.live_edge) product.width = on_scale(width, 0.0, mill.tape_step());
  const double wider = product.width / width;
  if (product.price_per_m2) *product.price_per_m2 /= wider;
  if (product.price_per_m3) *product.price_per_m3 /= wider * product.thickness / thickness;
}

}  // namespace

Order green_order(Order order, const Mill& mill) {
  for (Product& product : order.products) {
    if (product.finished) {
      saw_green(order, mill, product);
    } else if (mill.inches) {
      saw_as_told(mill, product);
    }
  }
  return order;
}

}  // namespace kerfwright
