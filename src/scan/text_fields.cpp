#include "text_fields.hpp"

#include <charconv>
#include <limits>

namespace kerfwright {

std::optional<std::string_view> LineReader::next() {
  if (rest_.empty()) return std::nullopt;
  ++number_;
  const std::size_t end = rest_.find_first_of("\r\n");
  ended_ = end != std::string_view::npos;
  if (!ended_) {
    const std::string_view line = rest_;
    rest_ = {};
    return line;
  }
  const std::string_view line = rest_.substr(0, end);
  const bool both = rest_[end] == '\r' && end + 1 < rest_.size() && rest_[end + 1] == '\n';
  rest_.remove_prefix(end + (both ? 2 : 1));
  return line;
}

void split_fields(std::string_view line, std::string_view separators,
                  std::vector<std::string_view>& fields) {
  fields.clear();
  std::size_t at = line.find_first_not_of(separators);
  while (at != std::string_view::npos) {
    const std::size_t end = line.find_first_of(separators, at);
    fields.push_back(line.substr(at, end - at));
    at = line.find_first_not_of(separators, end);
  }
}

std::optional<double> parse_number(std::string_view field) {
  if (!field.empty() && field.front() == '+') field.remove_prefix(1);
  double value = 0.0;
  const auto [end, error] = std::from_chars(field.data(), field.data() + field.size(), value);
  if (error != std::errc{} || end != field.data() + field.size()) return std::nullopt;
  return value;
}

double number_or_nan(std::string_view field) {
  return parse_number(field).value_or(std::numeric_limits<double>::quiet_NaN());
}

std::string_view trimmed(std::string_view text) {
  const std::size_t first = text.find_first_not_of(" \t\r\n");
  if (first == std::string_view::npos) return {};
  return text.substr(first, text.find_last_not_of(" \t\r\n") - first + 1);
}

}  // namespace kerfwright
