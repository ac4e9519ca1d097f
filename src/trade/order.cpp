#include "kerfwright/trade/order.hpp"

#include <algorithm>
#include <map>

#include "toml_file.hpp"
#include "words.hpp"

namespace kerfwright {
namespace {

// Limits far outside any order, so that a slip (a unit, a digit) is told and nothing runs for
// hours.
constexpr std::size_t most_products = 500;
constexpr std::size_t most_lengths = 200;
constexpr std::int64_t most_wanted = 1'000'000;
constexpr Range size_range = {0, false, 5000, true, "mm"};
constexpr Range length_range = {0, false, 30000, true, "mm"};
constexpr Range money_range = {0, false, 1e9, true, ""};
constexpr Range wane_range = {0, true, 0.5, false, ""};

void refuse_twice_the_same(const TableReader& reader, std::vector<double> lengths) {
  std::sort(lengths.begin(), lengths.end());
  const auto twice = std::adjacent_find(lengths.begin(), lengths.end());
  if (twice != lengths.end()) {
    refuse(reader, line_of(reader, "lengths"),
           "'lengths' holds " + number_text(*twice) + " twice; give each length once.");
  }
}

void check_prices(const TableReader& reader, const Product& product) {
  const std::string needs =
      "the product '" + product.name + "' needs either 'values' or 'price_per_m3', ";
  if (product.values.empty() && !product.price_per_m3) {
    refuse(reader, line_of(reader), needs + "and has neither.");
  }
  if (!product.values.empty() && product.price_per_m3) {
    refuse(reader, line_of(reader, "price_per_m3"), needs + "not both.");
  }
  if (!product.values.empty() && product.values.size() != product.lengths.size()) {
    refuse(reader, line_of(reader, "values"),
           "'values' holds " + std::to_string(product.values.size()) + " numbers and 'lengths' " +
               std::to_string(product.lengths.size()) + "; give one value for each length.");
  }
}

Product read_product(const TableReader& reader) {
  allow_only(reader,
             {"name", "thickness", "width", "lengths", "values", "price_per_m3", "wane", "wanted"});
  Product product;
  product.name = need(reader, "name", find_text(reader, "name", 100));
  product.thickness = need(reader, "thickness", find_number(reader, "thickness", size_range));
  product.width = need(reader, "width", find_number(reader, "width", size_range));
  product.lengths =
      need(reader, "lengths", find_numbers(reader, "lengths", length_range, most_lengths));
  product.values =
      find_numbers(reader, "values", money_range, most_lengths).value_or(std::vector<double>());
  product.price_per_m3 = find_number(reader, "price_per_m3", money_range);
  product.wane = find_number(reader, "wane", wane_range).value_or(0.0);
  if (const auto wanted = find_count(reader, "wanted", most_wanted)) {
    product.wanted = static_cast<int>(*wanted);
  }
  refuse_twice_the_same(reader, product.lengths);
  check_prices(reader, product);
  return product;
}

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
  if (!values.empty()) return values.at(i);
  constexpr double mm3_per_m3 = 1e9;
  return price_per_m3.value_or(0.0) * thickness * width * lengths.at(i) / mm3_per_m3;
}

Order parse_order(const std::string& toml, const std::string& name) {
  const toml::table table = parse_toml(toml, name, Fault::bad_order);
  const TableReader reader{table, name, "an order", Fault::bad_order};
  allow_only(reader, {"currency", "product"});
  Order order;
  order.currency = find_text(reader, "currency", 12).value_or(order.currency);
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
