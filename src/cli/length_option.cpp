#include "length_option.hpp"

#include <algorithm>
#include <charconv>
#include <cmath>

#include "kerfwright/trade/inches.hpp"

namespace kerfwright::cli {

std::optional<double> mm_of(const std::string& text) {
  const std::size_t from = std::min(text.find_first_not_of(' '), text.size());
  const std::size_t to = text.find_last_not_of(' ') + 1;  // 0 where there are but blanks
  const char* const last = text.data() + std::max(from, to);
  double number = 0;
  const auto [end, error] = std::from_chars(text.data() + from, last, number);
  if (error == std::errc() && end == last) return number;
  return length_of(text);
}

void add_inch(CLI::App* command, bool& inches, bool sets) {
  command->add_flag("--inch", inches,
                    sets ? "Inches and fractions, on scale and tape too" : "Tell it in inches");
}

CLI::Validator mm_from(double low, double high) {
  const auto shown = [](double mm) { return std::to_string(std::lround(mm)); };
  const std::string range = shown(low) + " to " + shown(high) + " mm";
  const auto check = [low, high, range](const std::string& text) {
    double mm = 0.0;
    const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), mm);
    const bool number = error == std::errc() && end == text.data() + text.size();
    if (number && mm >= low && mm <= high) return std::string();
    return "'" + text + "' is no length of " + range +
           "; write a number of mm, or the unit too, as in \"8 3/8 in\" or \"2.6 m\"";
  };
  return {check, range, ""};
}

CLI::Validator with_unit() {
  const auto to_mm = [](std::string& text) {
    const auto length = length_of(text);
    if (!length) return std::string();
    char number[64];
    const auto [end, error] = std::to_chars(number, number + sizeof number, *length);
    text.assign(number, end);
    return std::string();
  };
  return {to_mm, "", ""};
}

}  // namespace kerfwright::cli
