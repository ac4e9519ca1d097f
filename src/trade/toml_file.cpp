#include "toml_file.hpp"

#include <algorithm>
#include <cmath>
#include <filesystem>

#include "kerfwright/files.hpp"
#include "kerfwright/trade/inches.hpp"
#include "toml_depth.hpp"
#include "words.hpp"

namespace kerfwright {
namespace {

constexpr std::size_t most_bytes_of_file =
    1'000'000;  // an order of a thousand products has a fifth
constexpr std::size_t most_dots_of_key = 8;

std::string at_line(const std::string& name, std::size_t line) {
  std::string text = "'";
  text += name + "', line " + std::to_string(line) + ": ";
  return text;
}

std::string too_large(const std::string& name) {
  std::string text = "'";
  text +=
      name + "' is larger than 1 MB, as no order or mill is that a person wrote; check the name.";
  return text;
}

std::string_view type_of(const toml::node& node) {
  switch (node.type()) {
    case toml::node_type::string:
      return "a text";
    case toml::node_type::boolean:
      return "true or false";
    case toml::node_type::array:
      return "a list";
    case toml::node_type::table:
      return "a table";
    case toml::node_type::integer:
      return "a whole number";
    case toml::node_type::floating_point:
      return "a number";
    default:
      return "a date or a time";
  }
}

/// Whether a line gives a key a number such as 40,5, and nothing else.
bool has_decimal_comma(const std::string& text, std::size_t line) {
  std::size_t from = 0;
  for (; line > 1 && from != std::string::npos; --line) {
    from = text.find('\n', from);
    if (from != std::string::npos) ++from;
  }
  if (from == std::string::npos) return false;
  const std::size_t is = text.find('=', from);
  const std::size_t end = std::min(text.find('\n', from), text.size());
  if (is == std::string::npos || is > end) return false;
  const char* const digits = "0123456789";
  const std::size_t whole = text.find_first_not_of(' ', is + 1);
  const std::size_t comma = text.find_first_not_of(digits, whole);
  if (whole >= end || comma == whole || comma >= end || text[comma] != ',') return false;
  return text.find_first_of(digits, comma) == comma + 1;
}

std::size_t line_of_node(const toml::node& node) { return node.source().begin.line; }

std::string in_words(const Range& range) {
  std::string words = range.low_allowed ? "at least " : "more than ";
  words += number_text(range.low) + (range.high_allowed ? " and at most " : " and less than ");
  words += number_text(range.high);
  return range.unit.empty() ? words : words.append(" ").append(range.unit);
}

bool inside(double value, const Range& range) {
  const bool above = range.low_allowed ? value >= range.low : value > range.low;
  const bool below = range.high_allowed ? value <= range.high : value < range.high;
  return std::isfinite(value) && above && below;
}

/// mm of a text with its unit.
double length_in(const TableReader& reader, std::string_view key,
                 const toml::value<std::string>& text, const Range& range) {
  const auto length = length_of(text.get());
  if (!length) {
    refuse(
        reader, line_of_node(text),
        in_quotes(key) +
            " must be a number of mm or a text with its unit such as \"1 1/2 in\", \"8 ft 6 in\" "
            "or \"50 mm\", not " +
            in_quotes(text.get()) + ".");
  }
  if (!inside(*length, range)) {
    refuse(reader, line_of_node(text),
           in_quotes(key) + " must be " + in_words(range) + ", not " + in_quotes(text.get()) +
               ", which is " + number_text(*length) + " mm.");
  }
  return *length;
}

double number_of(const TableReader& reader, std::string_view key, const toml::node& node,
                 const Range& range) {
  const auto* text = node.as_string();
  if (text != nullptr && range.unit == "mm") return length_in(reader, key, *text, range);
  const double value = node.is_number() ? node.value<double>().value_or(NAN) : NAN;
  if (!inside(value, range)) {
    const std::string found = node.is_number() ? number_text(value) : std::string(type_of(node));
    refuse(reader, line_of_node(node),
           in_quotes(key) + " must be a number, " + in_words(range) + ", not " + found + ".");
  }
  return value;
}

/// What to do about an unknown key: the key that was meant, or all that there are.
std::string advice_on(std::string_view key, const std::string& what,
                      const std::vector<std::string>& known) {
  const auto close = close_words(key, known, 1);
  if (!close.empty()) return std::string("; did you mean ") + in_quotes(close.front()) + "?";
  std::string all;
  for (const std::string& each : known) all += (all.empty() ? " " : ", ") + each;
  return "; the keys of " + what + " are" + all + ".";
}

}  // namespace

std::string read_toml_text(const std::string& path, Fault fault) {
  std::error_code none;
  const auto bytes = std::filesystem::file_size(path, none);
  if (!none && bytes > most_bytes_of_file) throw UserError(fault, too_large(path));
  return read_file(path);
}

toml::table parse_toml(const std::string& text, const std::string& name, Fault fault) {
  if (text.size() > most_bytes_of_file) throw UserError(fault, too_large(name));
  if (const auto line = line_of_deep_key(text, most_dots_of_key)) {
    throw UserError(Fault::bad_toml,
                    at_line(name, *line) +
                        "a key has more dots than any key that is read here; write keys "
                        "without dots.");
  }
  try {
    return toml::parse(std::string_view(text), std::string_view(name));
  } catch (const toml::parse_error& error) {
    const auto& begin = error.source().begin;
    if (has_decimal_comma(text, begin.line)) {
      throw UserError(Fault::bad_toml, at_line(name, begin.line) +
                                           "a number has a comma in it; write its decimals behind "
                                           "a point, as in 40.5.");
    }
    throw UserError(Fault::bad_toml, at_line(name, begin.line) + "this is not TOML (column " +
                                         std::to_string(begin.column) + ": " +
                                         one_line(error.description()) + ").");
  }
}

void refuse(const TableReader& reader, std::size_t line, const std::string& sentence) {
  throw UserError(reader.fault, at_line(reader.name, line) + sentence);
}

std::size_t line_of(const TableReader& reader) {
  // The table that is the whole file begins before its first line where the file is empty.
  return std::max<std::size_t>(1, line_of_node(reader.table));
}

std::size_t line_of(const TableReader& reader, std::string_view key) {
  const toml::node* node = reader.table.get(key);
  return node == nullptr ? line_of(reader) : line_of_node(*node);
}

void allow_only(const TableReader& reader, std::initializer_list<std::string_view> known) {
  const toml::key* first = nullptr;  // the table itself is in the order of the alphabet
  for (const auto& [key, node] : reader.table) {
    if (std::find(known.begin(), known.end(), key.str()) != known.end()) continue;
    if (first == nullptr || key.source().begin < first->source().begin) first = &key;
  }
  if (first == nullptr) return;
  throw UserError(Fault::unknown_key,
                  at_line(reader.name, first->source().begin.line) + in_quotes(first->str()) +
                      " is no key of " + reader.what +
                      advice_on(first->str(), reader.what, {known.begin(), known.end()}));
}

std::optional<double> find_number(const TableReader& reader, std::string_view key,
                                  const Range& range) {
  const toml::node* node = reader.table.get(key);
  if (node == nullptr) return std::nullopt;
  return number_of(reader, key, *node, range);
}

std::optional<std::vector<double>> find_numbers(const TableReader& reader, std::string_view key,
                                                const Range& range, std::size_t most) {
  const toml::node* node = reader.table.get(key);
  if (node == nullptr) return std::nullopt;
  const toml::array* list = node->as_array();
  if (list == nullptr) {
    refuse(reader, line_of_node(*node),
           in_quotes(key) + " must be a list of numbers such as [1, 2], not " +
               std::string(type_of(*node)) + ".");
  }
  if (list->empty() || list->size() > most) {
    refuse(reader, line_of_node(*node),
           in_quotes(key) + " must hold 1 to " + std::to_string(most) + " numbers, not " +
               std::to_string(list->size()) + ".");
  }
  std::vector<double> numbers;
  for (const toml::node& element : *list) numbers.push_back(number_of(reader, key, element, range));
  return numbers;
}

std::optional<std::int64_t> find_count(const TableReader& reader, std::string_view key,
                                       std::int64_t most) {
  const toml::node* node = reader.table.get(key);
  if (node == nullptr) return std::nullopt;
  const auto* integer = node->as_integer();
  if (integer == nullptr || integer->get() < 0 || integer->get() > most) {
    std::string found(type_of(*node));
    if (node->is_number()) found = number_text(node->value<double>().value_or(NAN));
    refuse(reader, line_of_node(*node),
           in_quotes(key) + " must be a whole number, 0 to " + std::to_string(most) + ", not " +
               found + ".");
  }
  return integer->get();
}

std::optional<std::string> find_text(const TableReader& reader, std::string_view key,
                                     std::size_t most_bytes) {
  const toml::node* node = reader.table.get(key);
  if (node == nullptr) return std::nullopt;
  const auto* text = node->as_string();
  if (text == nullptr) {
    refuse(reader, line_of_node(*node),
           in_quotes(key) + " must be a text in quotation marks, not " +
               std::string(type_of(*node)) + ".");
  }
  const std::string& value = text->get();
  const auto is_control = [](char c) { return (c >= 0 && c < 32) || c == 127; };
  if (value.find_first_not_of(' ') == std::string::npos || value.size() > most_bytes ||
      std::any_of(value.begin(), value.end(), is_control)) {
    refuse(reader, line_of_node(*node),
           in_quotes(key) + " must be a text of one line, not empty and at most " +
               std::to_string(most_bytes) + " bytes long.");
  }
  return value;
}

std::optional<bool> find_flag(const TableReader& reader, std::string_view key) {
  const toml::node* node = reader.table.get(key);
  if (node == nullptr) return std::nullopt;
  const auto* flag = node->as_boolean();
  if (flag == nullptr) {
    refuse(reader, line_of_node(*node),
           in_quotes(key) + " must be true or false, not " + std::string(type_of(*node)) + ".");
  }
  return flag->get();
}

std::optional<TableReader> find_table(const TableReader& reader, std::string_view key,
                                      const std::string& what) {
  const toml::node* node = reader.table.get(key);
  if (node == nullptr) return std::nullopt;
  const auto* table = node->as_table();
  if (table == nullptr) {
    refuse(reader, line_of_node(*node),
           in_quotes(key) + " must be a table such as { a = 1, b = 2 }, not " +
               std::string(type_of(*node)) + ".");
  }
  return TableReader{*table, reader.name, what, reader.fault};
}

}  // namespace kerfwright
