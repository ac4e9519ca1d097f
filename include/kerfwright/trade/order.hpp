#pragma once

#include <optional>
#include <string>
#include <vector>

namespace kerfwright {

/// One product of an order, as sawn (green).
struct Product {
  std::string name;
  double thickness = 0;         ///< mm, more than 0
  double width = 0;             ///< mm, more than 0
  std::vector<double> lengths;  ///< mm, each more than 0, in the order of the file
  std::vector<double> values;   ///< what a piece of each length fetches; empty where price_per_m3 is given
  std::optional<double> price_per_m3;  ///< in the order's currency; empty where values are given
  double wane = 0;              ///< largest share of thickness and of width that may be missing on an
                                ///< arris, 0 to 0.5 (0.5 excluded)
  std::optional<int> wanted;    ///< how many the order needs, all lengths together; empty = as many as come

  /// What a piece of lengths[i] fetches.
  double value_of(std::size_t i) const;
};

struct Order {
  std::string currency = "EUR";
  std::vector<Product> products;
};

/// Reads an order from a TOML file.
/// @throws UserError no_file, empty_file, bad_toml, unknown_key (names the key and its line), bad_order
Order read_order(const std::string& path);

/// The same from text; `name` stands for the file in messages.
Order parse_order(const std::string& toml, const std::string& name);

}  // namespace kerfwright
