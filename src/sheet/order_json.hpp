#pragma once

#include <string>

#include "kerfwright/trade/order.hpp"

namespace kerfwright::json_read {
struct Node;
}

/// The order inside a plan file: as read, and with the green sizes that finished ones need.
namespace kerfwright::order_json {

std::string text_of(const Order& order);

/// @throws UserError of the reading
Order order_of(const json_read::Node& node);

}  // namespace kerfwright::order_json
