#include "json_text.hpp"

#include <array>
#include <charconv>
#include <cmath>
#include <nlohmann/json.hpp>

#include "kerfwright/error.hpp"

namespace kerfwright::json_text {
namespace {

template <class Real>
std::string shortest(Real value) {
  if (!std::isfinite(value)) {
    throw UserError(Fault::internal, "A number that is not finite was to be written to a file.");
  }
  if (value == Real{0}) return "0";
  std::array<char, 64> buffer{};
  const auto end = std::to_chars(buffer.data(), buffer.data() + buffer.size(), value);
  return {buffer.data(), end.ptr};
}

std::string joined(std::string_view open, const std::vector<std::string>& items,
                   std::string_view between, std::string_view close) {
  std::string text(open);
  for (std::size_t i = 0; i < items.size(); ++i) {
    if (i > 0) text += between;
    text += items[i];
  }
  text += close;
  return text;
}

}  // namespace

std::string number(double value) { return shortest(value); }

std::string number(float value) { return shortest(value); }

std::string quoted(std::string_view text) {
  return nlohmann::json(text).dump(-1, ' ', false, nlohmann::json::error_handler_t::replace);
}

std::string member(std::string_view key, const std::string& value) {
  return quoted(key) + ": " + value;
}

std::string list(const std::vector<std::string>& items) { return joined("[", items, ", ", "]"); }

std::string object(const std::vector<std::string>& members) {
  return joined("{", members, ", ", "}");
}

std::string lines(const std::vector<std::string>& items) {
  return items.empty() ? "[]" : joined("[\n  ", items, ",\n  ", "]");
}

std::string document(const std::vector<std::string>& members) {
  return joined("{", members, ",\n ", "}\n");
}

std::string vector(const Eigen::Vector3d& v) {
  return list({number(v.x()), number(v.y()), number(v.z())});
}

std::string matrix(const Eigen::Matrix4d& m) {
  std::vector<std::string> items;
  for (int row = 0; row < 4; ++row) {
    for (int column = 0; column < 4; ++column) items.push_back(number(m(row, column)));
  }
  return list(items);
}

}  // namespace kerfwright::json_text
