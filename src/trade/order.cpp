#include "kerfwright/trade/order.hpp"

#include <algorithm>
#include <map>

#include "kerfwright/trade/species.hpp"
#include "product_keys.hpp"
#include "toml_file.hpp"

namespace kerfwright {
namespace {

constexpr std::size_t most_products = 500;

const toml::array& product_tables(const TableReader& order) {
  const toml::node* node = order.table.get("product");
  if (node == nullptr) {
    refuse(order, line_of(order),
           "the order asks for nothing; write a [[product]] for each size you want.");
  }
  const toml::array* list = node->as_array();
  if (list == nullptr || !std::all_of(list->begin(), list->end(),
                                      [](const toml::node& each) { return each.is_table(); })) {
    refuse(order, line_of(order, "product"),
           "a product is written under [[product]], with two brackets.");
  }
  if (list->empty() || list->size() > most_products) {
    refuse(order, line_of(order, "product"),
           "an order has 1 to " + std::to_string(most_products) + " products, not " +
               std::to_string(list->size()) + ".");
  }
  return *list;
}

}  // namespace

double Product::value_of(std::size_t i) const {
  return value_of(i, finished ? finished->width : width);
}

double Product::value_of(std::size_t i, double mean_width) const {
  if (!values.empty()) return values.at(i);
  constexpr double mm3_per_m3 = 1e9;
  constexpr double mm2_per_m2 = 1e6;
  const double face = mean_width * lengths.at(i);
  if (price_per_m2) return *price_per_m2 * face / mm2_per_m2;
  return price_per_m3.value_or(0.0) * (finished ? finished->thickness : thickness) * face /
         mm3_per_m3;
}

Order parse_order(const std::string& toml, const std::string& name) {
  const toml::table table = parse_toml(toml, name, Fault::bad_order);
  const TableReader reader{table, name, "an order", Fault::bad_order};
  allow_only(reader, {"currency", "species", "product"});
  Order order;
  order.currency = find_text(reader, "currency", 12).value_or(order.currency);
  order.species = find_text(reader, "species", 100).value_or("");
  if (!order.species.empty()) find_species(order.species);
  std::map<std::string, std::size_t> line_of_name;
  for (const toml::node& node : product_tables(reader)) {
    const TableReader product{*node.as_table(), name, "a product", Fault::bad_order};
    order.products.push_back(read_product(product));
    const std::size_t line = line_of(product, "name");
    const auto [first, is_new] = line_of_name.emplace(order.products.back().name, line);
    if (!is_new) {
      refuse(product, line,
             "the name '" + first->first + "' is that of the product of line " +
                 std::to_string(first->second) + "; give each product its own name.");
    }
  }
  return order;
}

Order read_order(const std::string& path) {
  return parse_order(read_toml_text(path, Fault::bad_order), path);
}

}  // namespace kerfwright
