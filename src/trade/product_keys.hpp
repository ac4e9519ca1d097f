#pragma once

#include "kerfwright/trade/order.hpp"
#include "toml_file.hpp"

namespace kerfwright {

/// A [[product]] of an order file.
/// @throws UserError unknown_key, bad_order
Product read_product(const TableReader& reader);

}  // namespace kerfwright
