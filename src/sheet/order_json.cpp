#include "order_json.hpp"

#include "json_read.hpp"
#include "json_text.hpp"

namespace kerfwright::order_json {
namespace {

using json_read::dearest;
using json_read::largest_count;
using json_read::longest;
using json_read::Node;
using json_text::member;
using json_text::number;
using json_text::numbers;
using json_text::object;

constexpr double most_factor = 1e6;
constexpr std::size_t most = 20'000;  // products, lengths

std::string wane_text(const Wane& wane) {
  if (wane == Wane(wane.thickness)) return number(wane.thickness);
  return object({member("thickness", number(wane.thickness)), member("width", number(wane.width)),
                 member("length", number(wane.length))});
}

std::string finished_text(const Finished& finished) {
  return object(
      {member("thickness", number(finished.thickness)), member("width", number(finished.width)),
       member("moisture", number(finished.moisture)), member("planing", number(finished.planing)),
       member("undersize", number(finished.undersize)),
       member("shrinkage",
              json_text::quoted(finished.shrinkage == ShrinkageBy::mean ? "mean" : "worst"))});
}

std::string grades_text(const Grades& grades) {
  std::vector<std::string> members;
  if (grades.clear) members.push_back(member("clear", number(*grades.clear)));
  if (grades.sound_knots) members.push_back(member("sound_knots", number(*grades.sound_knots)));
  if (grades.pith) members.push_back(member("pith", number(*grades.pith)));
  members.push_back(member("largest_knot", number(grades.largest_knot)));
  return object(members);
}

std::string grain_text(const Grain& grain) {
  return object({member("standing", number(grain.standing)), member("rift", number(grain.rift)),
                 member("lying", number(grain.lying)), member("rift_from", number(grain.rift_from)),
                 member("standing_from", number(grain.standing_from))});
}

std::string figure_text(const Product& product) {
  std::vector<std::string> members;
  for (const auto& [name, factor] : product.figure) members.push_back(member(name, number(factor)));
  return object(members);
}

void add_price(const Product& product, std::vector<std::string>& members) {
  if (product.price_per_m3) {
    members.push_back(member("price_per_m3", number(*product.price_per_m3)));
  } else if (product.price_per_m2) {
    members.push_back(member("price_per_m2", number(*product.price_per_m2)));
  } else {
    members.push_back(member("values", numbers(product.values)));
  }
}

std::string product_text(const Product& product) {
  std::vector<std::string> members = {
      member("name", json_text::quoted(product.name)),
      member("thickness", number(product.thickness)),
      member(product.live_edge ? "min_width" : "width", number(product.width)),
      member("lengths", numbers(product.lengths))};
  add_price(product, members);
  members.push_back(member("wane", wane_text(product.wane)));
  if (product.wanted) members.push_back(member("wanted", std::to_string(*product.wanted)));
  if (product.beyond > 0.0) members.push_back(member("beyond", number(product.beyond)));
  if (product.finished) members.push_back(member("finished", finished_text(*product.finished)));
  if (product.grades) members.push_back(member("grades", grades_text(*product.grades)));
  if (product.grain) members.push_back(member("grain", grain_text(*product.grain)));
  if (!product.figure.empty()) members.push_back(member("figure", figure_text(product)));
  if (product.live_edge) members.push_back(member("live_edge", "true"));
  if (product.boxed_heart) members.push_back(member("heart", json_text::quoted("boxed")));
  if (product.blank) members.push_back(member("blank", "true"));
  return object(members);
}

double length_of(const Node& node) {
  const double value = json_read::number(node, 0.0, longest);
  if (value <= 0.0) {
    json_read::reject(*node.reading, "\"" + node.place + "\" is not more than 0");
  }
  return value;
}

/// A number at a key, or what it is without the key.
double number_or(const Node& node, const char* key, double limit, double otherwise) {
  if (!json_read::has(node, key)) return otherwise;
  return json_read::number(json_read::member(node, key), 0.0, limit);
}

std::optional<double> maybe(const Node& node, const char* key, double limit) {
  if (!json_read::has(node, key)) return std::nullopt;
  return json_read::number(json_read::member(node, key), 0.0, limit);
}

bool flag(const Node& node, const char* key) {
  if (!json_read::has(node, key)) return false;
  const Node found = json_read::member(node, key);
  if (!found.value->is_boolean()) {
    json_read::reject(*node.reading, "\"" + found.place + "\" is neither true nor false");
  }
  return found.value->get<bool>();
}

Wane read_wane(const Node& node) {
  constexpr double limit = 0.5;
  if (!node.value->is_object()) return {json_read::number(node, 0.0, limit)};
  return {number_or(node, "thickness", limit, 0.0), number_or(node, "width", limit, 0.0),
          number_or(node, "length", 1.0, 1.0)};
}

Finished read_finished(const Node& node) {
  Finished finished;
  finished.thickness = length_of(json_read::member(node, "thickness"));
  finished.width = length_of(json_read::member(node, "width"));
  finished.moisture = number_or(node, "moisture", 1000.0, finished.moisture);
  finished.planing = number_or(node, "planing", longest, finished.planing);
  finished.undersize = number_or(node, "undersize", 0.5, finished.undersize);
  if (json_read::has(node, "shrinkage") &&
      json_read::text(json_read::member(node, "shrinkage")) == "mean") {
    finished.shrinkage = ShrinkageBy::mean;
  }
  return finished;
}

Grades read_grades(const Node& node) {
  return {maybe(node, "clear", most_factor), maybe(node, "sound_knots", most_factor),
          maybe(node, "pith", most_factor), number_or(node, "largest_knot", 1.0, 1.0)};
}

Grain read_grain(const Node& node) {
  const Grain otherwise;
  return {number_or(node, "standing", most_factor, otherwise.standing),
          number_or(node, "rift", most_factor, otherwise.rift),
          number_or(node, "lying", most_factor, otherwise.lying),
          number_or(node, "rift_from", 90.0, otherwise.rift_from),
          number_or(node, "standing_from", 90.0, otherwise.standing_from)};
}

void read_figure(const Node& node, Product& product) {
  if (!node.value->is_object()) {
    json_read::reject(*node.reading, "\"" + node.place + "\" is no table");
  }
  for (const auto& item : node.value->items()) {
    product.figure.emplace_back(item.key(), number_or(node, item.key().c_str(), most_factor, 1.0));
  }
}

void read_prices(const Node& node, Product& product) {
  product.price_per_m3 = maybe(node, "price_per_m3", dearest);
  product.price_per_m2 = maybe(node, "price_per_m2", dearest);
  if (product.price_per_m3 || product.price_per_m2) return;
  const std::size_t lengths = product.lengths.size();
  product.values =
      json_read::numbers(json_read::member(node, "values"), lengths, lengths, 0.0, dearest);
}

/// The keys that say what a piece's value is multiplied by.
void read_factors(const Node& node, Product& product) {
  product.beyond = number_or(node, "beyond", 1.0, 0.0);
  if (json_read::has(node, "finished")) {
    product.finished = read_finished(json_read::member(node, "finished"));
  }
  if (json_read::has(node, "grades")) {
    product.grades = read_grades(json_read::member(node, "grades"));
  }
  if (json_read::has(node, "grain")) product.grain = read_grain(json_read::member(node, "grain"));
  if (json_read::has(node, "figure")) read_figure(json_read::member(node, "figure"), product);
}

Product read_product(const Node& node) {
  Product product;
  product.name = json_read::text(json_read::member(node, "name"));
  product.live_edge = flag(node, "live_edge");
  product.blank = flag(node, "blank");
  product.boxed_heart = json_read::has(node, "heart");
  if (product.boxed_heart && json_read::text(json_read::member(node, "heart")) != "boxed") {
    json_read::reject(*node.reading, "\"" + node.place + ".heart\" is not \"boxed\"");
  }
  product.thickness = length_of(json_read::member(node, "thickness"));
  product.width = length_of(json_read::member(node, product.live_edge ? "min_width" : "width"));
  for (const auto& item : json_read::items(json_read::member(node, "lengths"), 1, most)) {
    product.lengths.push_back(length_of(item));
  }
  read_prices(node, product);
  product.wane = read_wane(json_read::member(node, "wane"));
  if (json_read::has(node, "wanted")) {
    product.wanted = json_read::whole(json_read::member(node, "wanted"), 0, largest_count);
  }
  read_factors(node, product);
  return product;
}

}  // namespace

std::string text_of(const Order& order) {
  std::vector<std::string> products;
  for (const auto& product : order.products) products.push_back(product_text(product));
  std::vector<std::string> members = {member("currency", json_text::quoted(order.currency))};
  if (!order.species.empty())
    members.push_back(member("species", json_text::quoted(order.species)));
  members.push_back(member("product", json_text::lines(products)));
  return object(members);
}

Order order_of(const Node& node) {
  Order order;
  order.currency = json_read::text(json_read::member(node, "currency"));
  if (json_read::has(node, "species")) {
    order.species = json_read::text(json_read::member(node, "species"));
  }
  for (const auto& item : json_read::items(json_read::member(node, "product"), 0, most)) {
    order.products.push_back(read_product(item));
  }
  return order;
}

}  // namespace kerfwright::order_json
