#pragma once

#include <Eigen/Core>
#include <string>
#include <string_view>
#include <vector>

/// Pieces of JSON text, laid out so that a file is small and two of them can be compared line by
/// line.
namespace kerfwright::json_text {

/// The shortest decimal that reads back as the same number; a negative zero loses its sign.
/// @throws UserError internal where the number is not finite
std::string number(double value);
std::string number(float value);

/// A JSON string, escaped; bytes that are no UTF-8 become U+FFFD.
std::string quoted(std::string_view text);

/// `"key": value`
std::string member(std::string_view key, const std::string& value);

/// `[a, b, c]` and `{a, b, c}` on one line.
std::string list(const std::vector<std::string>& items);
std::string object(const std::vector<std::string>& members);

/// A list with one item a line.
std::string lines(const std::vector<std::string>& items);

/// An object that fills a file: one member a line, a newline at the end.
std::string document(const std::vector<std::string>& members);

std::string vector(const Eigen::Vector3d& v);
std::string matrix(const Eigen::Matrix4d& m);  ///< 16 numbers, row-major

template <class Numbers>
std::string numbers(const Numbers& values) {
  std::vector<std::string> items;
  items.reserve(values.size());
  for (const auto value : values) items.push_back(number(value));
  return list(items);
}

}  // namespace kerfwright::json_text
