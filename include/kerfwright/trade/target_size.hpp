#pragma once

#include "kerfwright/trade/mill.hpp"
#include "kerfwright/trade/order.hpp"

/// What size to saw green so that it is right once dry and planed.
///
///   T = (F + P) / (1 - S / 100) + Z s
///
/// F finished size, P planing allowance, S shrinkage in % of the green size, s standard deviation
/// of the sawn size, Z from the share of pieces that may come out too small. Formula from memory of
/// T. D. Brown, Oregon State University Extension EM 8731, June 2000, which was seen for the
/// critical size (T without Z s), an example and the values of Z.
namespace kerfwright {

/// Z for a share of undersize pieces: the one-sided normal quantile. A share of 0 counts as 0.1 %,
/// as in the bulletin's table.
/// @param share 0 to 0.5
double undersize_quantile(double share);

/// T without the last term; sizes in any one unit, shrinkage in %.
double critical_size(double finished, double planing, double shrinkage);

/// T; `deviation` in the unit of the sizes, `undersize` a share.
double target_size(double finished, double planing, double shrinkage, double deviation,
                   double undersize);

/// The order with thickness and width of every product that names a finished size: the target size,
/// rounded up to what the mill's height scale can be set to. For a mill in inches every thickness
/// is rounded up so that with the kerf it is whole steps of the scale, since boards that lie one on
/// the other would drift else, and every width to what the tape shows; a piece fetches what it
/// fetched: a price by the cubic or square metre falls as the size grows. All else stays as it is.
/// @throws UserError bad_order where shrinkage needs a species and the order names none,
/// unknown_species
Order green_order(Order order, const Mill& mill);

}  // namespace kerfwright
