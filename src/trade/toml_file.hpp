#pragma once

#include <toml++/toml.h>

#include <cstdint>
#include <initializer_list>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "kerfwright/error.hpp"

namespace kerfwright {

/// The whole of an order or mill file, which a person wrote by hand.
/// @throws UserError no_file, empty_file, and `fault` where it is larger than 1 MB
std::string read_toml_text(const std::string& path, Fault fault);

/// TOML 1.0 as a table that remembers its lines.
/// @throws UserError bad_toml, with line and column
toml::table parse_toml(const std::string& text, const std::string& name, Fault fault);

/// A table that is being read, and what a complaint about it needs.
struct TableReader {
  const toml::table& table;
  std::string name;  ///< of the file
  std::string what;  ///< what the table describes: "a product"
  Fault fault;       ///< for a value that makes no sense
};

/// Where a number may lie, and how that is said: "more than 0 and at most 5000 mm".
struct Range {
  double low;
  bool low_allowed;
  double high;
  bool high_allowed;
  std::string_view unit;  ///< empty for a plain number
};

/// @throws UserError: "'NAME', line LINE: SENTENCE"
[[noreturn]] void refuse(const TableReader& reader, std::size_t line, const std::string& sentence);

/// The line a table, or the value of a key in it, begins on.
std::size_t line_of(const TableReader& reader);
std::size_t line_of(const TableReader& reader, std::string_view key);

/// @throws UserError unknown_key for the first key, in the order of the file, that is not among
/// `known`
void allow_only(const TableReader& reader, std::initializer_list<std::string_view> known);

/// What stands at a key; empty where the key is left out. Where the range is one of mm the number
/// may also be a text with its unit, such as "1 1/2 in".
/// @throws UserError `fault` where it is of another type or outside the range
std::optional<double> find_number(const TableReader& reader, std::string_view key,
                                  const Range& range);
std::optional<std::vector<double>> find_numbers(const TableReader& reader, std::string_view key,
                                                const Range& range, std::size_t most);
std::optional<std::int64_t> find_count(const TableReader& reader, std::string_view key,
                                       std::int64_t most);
std::optional<std::string> find_text(const TableReader& reader, std::string_view key,
                                     std::size_t most_bytes);

std::optional<bool> find_flag(const TableReader& reader, std::string_view key);

/// The table at a key, as "{ … }" or under a heading of its own; `what` it describes.
std::optional<TableReader> find_table(const TableReader& reader, std::string_view key,
                                      const std::string& what);

/// `found`, or a complaint that the key is missing.
template <typename T>
T need(const TableReader& reader, std::string_view key, std::optional<T> found) {
  if (!found) {
    refuse(reader, line_of(reader), reader.what + " needs '" + std::string(key) + "'.");
  }
  return *std::move(found);
}

}  // namespace kerfwright
