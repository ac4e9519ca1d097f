#include "json_read.hpp"

#include <algorithm>
#include <cmath>

namespace kerfwright::json_read {
namespace {

constexpr std::size_t largest_file = std::size_t{256} << 20;  // bytes
constexpr int deepest_nesting = 32;                           // the contract's files need five

/// How deep brackets are nested, strings apart; it stops counting when it is too deep.
int nesting(const std::string& text) {
  int depth = 0;
  int deepest = 0;
  bool in_string = false;
  for (std::size_t i = 0; i < text.size() && deepest <= deepest_nesting; ++i) {
    const char c = text[i];
    if (in_string) {
      if (c == '\\') ++i;
      if (c == '"') in_string = false;
    } else if (c == '"') {
      in_string = true;
    } else if (c == '[' || c == '{') {
      deepest = std::max(deepest, ++depth);
    } else if (c == ']' || c == '}') {
      --depth;
    }
  }
  return deepest;
}

json parse(const Reading& reading, const std::string& text) {
  if (text.size() > largest_file) reject(reading, "it is larger than 256 MB");
  if (nesting(text) > deepest_nesting) reject(reading, "its brackets are nested too deeply");
  try {
    return json::parse(text);
  } catch (const json::parse_error& error) {
    reject(reading, "it is not JSON, or breaks off, at byte " + std::to_string(error.byte));
  } catch (const json::exception&) {
    reject(reading, "it holds a number that no computer number can hold");
  }
}

std::string shown(double value) { return json(value).dump(); }

/// A place as the start of a clause: `"boards[2].width"`, or the file itself.
std::string where(const Node& node) { return node.place.empty() ? "it" : "\"" + node.place + "\""; }

}  // namespace

void reject(const Reading& reading, const std::string& why) {
  throw UserError(reading.fault, "The file '" + reading.name + "' cannot be used as a " +
                                     reading.kind + ": " + why + "; " + reading.remedy + ".");
}

Node open_document(const Reading& reading, const std::string& text, json& document) {
  document = parse(reading, text);
  const Node root{&reading, &document, ""};
  if (!document.is_object()) reject(reading, "it is not a JSON object");
  const std::string format = "kerfwright-" + reading.kind;
  if (!document.contains("format") || document["format"] != json(format)) {
    reject(reading, "its \"format\" is not \"" + format + "\"");
  }
  const auto version = document.find("version");
  if (version == document.end() || !version->is_number_integer() || *version < json(1) ||
      *version > json(reading.newest)) {
    reject(reading, "its \"version\" is not " +
                        (reading.newest == 1
                             ? std::string("1, the only one")
                             : "1 to " + std::to_string(reading.newest) + ", the only ones") +
                        " that this program knows");
  }
  return root;
}

bool has(const Node& object, const std::string& key) {
  return object.value->is_object() && object.value->contains(key);
}

Node member(const Node& object, const std::string& key) {
  if (!object.value->is_object()) reject(*object.reading, where(object) + " is not an object");
  const std::string place = object.place.empty() ? key : object.place + "." + key;
  const auto found = object.value->find(key);
  if (found == object.value->end()) reject(*object.reading, "\"" + place + "\" is missing");
  return {object.reading, &*found, place};
}

std::vector<Node> items(const Node& array, std::size_t least, std::size_t most) {
  if (!array.value->is_array()) reject(*array.reading, where(array) + " is not a list");
  const std::size_t size = array.value->size();
  if (size < least || size > most) {
    const std::string wanted = least == most
                                   ? std::to_string(least)
                                   : std::to_string(least) + " to " + std::to_string(most);
    reject(*array.reading,
           where(array) + " has " + std::to_string(size) + " items instead of " + wanted);
  }
  std::vector<Node> nodes;
  nodes.reserve(size);
  for (std::size_t i = 0; i < size; ++i) {
    nodes.push_back(
        {array.reading, &(*array.value)[i], array.place + "[" + std::to_string(i) + "]"});
  }
  return nodes;
}

double number(const Node& node, double least, double most) {
  if (!node.value->is_number()) reject(*node.reading, where(node) + " is not a number");
  const double value = node.value->get<double>();
  if (!(value >= least && value <= most)) {
    reject(*node.reading, where(node) + " is " + shown(value) + " and not within " + shown(least) +
                              " to " + shown(most));
  }
  return value;
}

int whole(const Node& node, int least, int most) {
  const double value = number(node, least, most);
  if (value != std::floor(value)) reject(*node.reading, where(node) + " is not a whole number");
  return static_cast<int>(value);
}

bool flag(const Node& node) {
  if (!node.value->is_boolean()) reject(*node.reading, where(node) + " is not true or false");
  return node.value->get<bool>();
}

std::string text(const Node& node, std::size_t most) {
  if (!node.value->is_string()) reject(*node.reading, where(node) + " is not a text");
  const auto& value = node.value->get_ref<const std::string&>();
  if (value.size() > most) {
    reject(*node.reading, where(node) + " is longer than " + std::to_string(most) + " bytes");
  }
  return value;
}

std::string digest(const Node& node) {
  const std::string value = text(node, 64);
  if (value.find_first_not_of("0123456789abcdef") != std::string::npos) {
    reject(*node.reading, where(node) + " is not a SHA-256 in hexadecimal digits");
  }
  return value;
}

std::vector<double> numbers(const Node& array, std::size_t least, std::size_t most, double low,
                            double high) {
  std::vector<double> values;
  for (const Node& item : items(array, least, most)) values.push_back(number(item, low, high));
  return values;
}

Eigen::Vector3d vector(const Node& node, double limit) {
  const auto values = numbers(node, 3, 3, -limit, limit);
  return {values[0], values[1], values[2]};
}

Eigen::Matrix4d matrix(const Node& node) {
  // Surveyed coordinates in mm are below 1e11; the limit only keeps nonsense out.
  const auto values = numbers(node, 16, 16, -1e15, 1e15);
  Eigen::Matrix4d m;
  for (int i = 0; i < 16; ++i) m(i / 4, i % 4) = values[static_cast<std::size_t>(i)];
  return m;
}

}  // namespace kerfwright::json_read
