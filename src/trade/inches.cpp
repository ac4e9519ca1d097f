#include "kerfwright/trade/inches.hpp"

#include <algorithm>
#include <array>
#include <charconv>
#include <cmath>
#include <cstdio>
#include <regex>

#include "kerfwright/trade/amounts.hpp"
#include "kerfwright/trade/scaling.hpp"

namespace kerfwright {
namespace {

/// Reads a text from left to right.
class Reader {
 public:
  explicit Reader(std::string_view text) : rest_(text) { skip_blanks(); }

  bool done() const { return rest_.empty(); }

  bool take(std::string_view word) {
    if (!rest_.starts_with(word)) return false;
    rest_.remove_prefix(word.size());
    skip_blanks();
    return true;
  }

  /// "2", "2.5", "1/2", "2 1/2" or "2-1/2".
  std::optional<double> amount() {
    const auto first = digits();
    if (!first) return std::nullopt;
    if (const auto decimals = after_point()) return static_cast<double>(*first) + *decimals;
    if (take("/")) return divided(*first);
    const Reader before = *this;
    take("-");
    const auto second = digits();
    if (!second || !take("/")) {
      *this = before;
      return static_cast<double>(*first);
    }
    const auto part = divided(*second);
    if (!part || *part >= 1.0) return std::nullopt;
    return static_cast<double>(*first) + *part;
  }

  /// mm of the unit that comes next.
  std::optional<double> unit() {
    struct Unit {
      std::string_view name;
      double mm;
    };
    // A name that begins like another comes before it.
    constexpr std::array<Unit, 11> units = {{{"inches", mm_per_inch},
                                             {"inch", mm_per_inch},
                                             {"in", mm_per_inch},
                                             {"\"", mm_per_inch},
                                             {"feet", mm_per_foot},
                                             {"foot", mm_per_foot},
                                             {"ft", mm_per_foot},
                                             {"'", mm_per_foot},
                                             {"mm", 1.0},
                                             {"cm", 10.0},
                                             {"m", 1000.0}}};
    for (const Unit& unit : units) {
      if (take(unit.name)) return unit.mm;
    }
    return std::nullopt;
  }

 private:
  void skip_blanks() { rest_.remove_prefix(std::min(rest_.find_first_not_of(' '), rest_.size())); }

  std::string_view run_of_digits() const {
    return rest_.substr(0, std::min(rest_.find_first_not_of("0123456789"), rest_.size()));
  }

  std::optional<int> digits() {
    constexpr std::size_t most = 6;  // a log of 100 m has as many mm
    const std::string_view run = run_of_digits();
    if (run.empty() || run.size() > most) return std::nullopt;
    int value = 0;
    std::from_chars(run.data(), run.data() + run.size(), value);
    const bool point = rest_.substr(run.size()).starts_with('.');
    rest_.remove_prefix(run.size());
    if (!point) skip_blanks();
    return value;
  }

  std::optional<double> after_point() {
    if (!rest_.starts_with('.')) return std::nullopt;
    rest_.remove_prefix(1);
    double value = 0.0;
    double place = 1.0;
    for (const char c : run_of_digits()) value += (c - '0') * (place /= 10.0);
    rest_.remove_prefix(run_of_digits().size());
    skip_blanks();
    return value;
  }

  std::optional<double> divided(int above) {
    const auto below = digits();
    if (!below || *below == 0) return std::nullopt;
    return static_cast<double>(above) / *below;
  }

  std::string_view rest_;
};

// PS 20, American Softwood Lumber Standard, minimum dressed size green: 1, 2 and 4 in of thickness
// and 4 to 12 in of width as size charts that cite it print them, the rest as an engineering
// reprint of its table does.
struct Green {
  double nominal, inches;
};
constexpr std::array<Green, 8> thicknesses = {{{1, 25.0 / 32},
                                               {1.25, 1 + 1.0 / 32},
                                               {1.5, 1 + 9.0 / 32},
                                               {2, 1 + 9.0 / 16},
                                               {2.5, 2 + 1.0 / 16},
                                               {3, 2 + 9.0 / 16},
                                               {3.5, 3 + 1.0 / 16},
                                               {4, 3 + 9.0 / 16}}};
constexpr std::array<Green, 10> widths = {{{2, 1 + 9.0 / 16},
                                           {3, 2 + 9.0 / 16},
                                           {4, 3 + 9.0 / 16},
                                           {5, 4 + 5.0 / 8},
                                           {6, 5 + 5.0 / 8},
                                           {8, 7.5},
                                           {10, 9.5},
                                           {12, 11.5},
                                           {14, 13.5},
                                           {16, 15.5}}};
// Timbers, 5 in and more both ways: green 1/2 in less than nominal (the same reprint).
constexpr double timber_from = 5.0;
constexpr double timber_to = 24.0;  // no log of a portable mill gives more
constexpr double timber_less = 0.5;

template <std::size_t count>
std::optional<double> listed(const std::array<Green, count>& table, double nominal) {
  const auto found = std::find_if(table.begin(), table.end(),
                                  [&](const Green& row) { return row.nominal == nominal; });
  if (found == table.end()) return std::nullopt;
  return found->inches * mm_per_inch;
}

/// What a number of one of our units is for a person who measures in inches.
struct Said {
  std::string number, unit;
};

Said said(double value, const std::string& unit) {
  if (unit == "mm") return {said_inches(value), "in"};
  if (unit == "m") return {said_inches(1000.0 * value), "in"};
  const Amounts imperial{true};
  const std::string text = unit == "m3"      ? imperial.log(value)
                           : unit == "kg/m3" ? imperial.density(value)
                                             : imperial.mass(value);
  const std::size_t blank = text.find(' ');
  return {text.substr(0, blank), text.substr(blank + 1)};
}

/// Amounts of a sentence with their unit, such as "2600 mm", "27 x 140 x 900 mm", "50 to 300 mm".
std::string words_in_inches(const std::string& words) {
  static const std::regex amounts(
      R"((^|[^\w.])(\d+(?:\.\d+)?(?:(?: x | to )\d+(?:\.\d+)?)*) (mm|m3|m|kg/m3|kg)(?!\w))");
  static const std::regex number(R"(\d+(?:\.\d+)?)");
  std::string text;
  auto rest = words.cbegin();
  for (std::sregex_iterator found(words.begin(), words.end(), amounts), end; found != end;
       ++found) {
    const std::string numbers = (*found)[2], unit = (*found)[3];
    text.append(rest, (*found)[2].first);
    auto at = numbers.cbegin();
    for (std::sregex_iterator each(numbers.begin(), numbers.end(), number); each != end; ++each) {
      text.append(at, (*each)[0].first).append(said(std::stod(each->str()), unit).number);
      at = (*each)[0].second;
    }
    text += " " + said(0.0, unit).unit;
    rest = (*found)[0].second;
  }
  return text.append(rest, words.cend());
}

/// Where the next quotation begins, npos where none does: names and what was typed are not amounts
/// of ours.
std::size_t quote_in(const std::string& text, std::size_t from) {
  for (std::size_t i = from; i < text.size(); ++i) {
    const bool opens = i == 0 || text[i - 1] == ' ' || text[i - 1] == '(';
    if (opens && (text[i] == '\'' || text[i] == '"')) return i;
  }
  return std::string::npos;
}

/// Behind the quotation that begins at a place; the end of the text where it does not close.
std::size_t end_of_quote(const std::string& text, std::size_t from) {
  if (from >= text.size()) return text.size();
  for (std::size_t i = from + 1; i < text.size(); ++i) {
    const bool closes =
        i + 1 == text.size() || std::string_view(" ,.;:)?").find(text[i + 1]) != std::string::npos;
    if (text[i] == text[from] && closes) return i + 1;
  }
  return text.size();
}

}  // namespace

std::optional<double> length_of(std::string_view text) {
  Reader reader(text);
  double sum = 0.0;
  for (int i = 0; i < 2; ++i) {
    const auto amount = reader.amount();
    if (!amount) return std::nullopt;
    const auto unit = reader.unit();
    if (!unit || (i == 1 && *unit != mm_per_inch)) return std::nullopt;
    sum += *amount * *unit;
    if (reader.done()) return sum;
    if (*unit != mm_per_foot) return std::nullopt;
  }
  return std::nullopt;
}

std::string inch_text(double mm, int parts) {
  const long long all = std::llround(std::abs(mm) / mm_per_inch * parts);
  long long above = all % parts;
  long long below = parts;
  while (above != 0 && above % 2 == 0) {
    above /= 2;
    below /= 2;
  }
  std::string text = mm < 0.0 && all > 0 ? "-" : "";
  const long long whole = all / parts;
  if (whole > 0 || above == 0) text += std::to_string(whole);
  if (above == 0) return text;
  if (whole > 0) text += " ";
  return text + std::to_string(above) + "/" + std::to_string(below);
}

std::string said_inches(double mm) {
  constexpr double near_enough = 0.08;
  const double shown = std::round(mm / sixteenth_inch) * sixteenth_inch;
  if (std::abs(shown - mm) <= near_enough * std::abs(mm)) return inch_text(mm);
  char text[40];
  const double inches = mm / mm_per_inch;
  std::snprintf(text, sizeof text, std::abs(inches) < 0.01 ? "%.1g" : "%.2f", inches);
  return text;
}

std::string sentence_in_inches(const std::string& sentence) {
  std::string text;
  for (std::size_t at = 0; at < sentence.size();) {
    const std::size_t quote = std::min(quote_in(sentence, at), sentence.size());
    text += words_in_inches(sentence.substr(at, quote - at));
    const std::size_t after = end_of_quote(sentence, quote);
    text += sentence.substr(quote, after - quote);
    at = after;
  }
  return text;
}

double inch_step(double mm) {
  const double fine = mm / (0.5 * sixteenth_inch);
  if (fine > 0.5 && std::abs(fine - std::round(fine)) < 1e-3) {
    return std::round(fine) * 0.5 * sixteenth_inch;
  }
  return std::max(1.0, std::round(mm / sixteenth_inch)) * sixteenth_inch;
}

std::optional<NominalSize> nominal_size(std::string_view text) {
  Reader reader(text);
  const auto thickness = reader.amount();
  if (!thickness || !(reader.take("x") || reader.take("X") || reader.take("×"))) {
    return std::nullopt;
  }
  const auto width = reader.amount();
  if (!width || !reader.done() || *thickness > *width) return std::nullopt;
  if (*thickness >= timber_from) {
    const bool whole = *thickness == std::floor(*thickness) && *width == std::floor(*width);
    if (!whole || *width > timber_to) return std::nullopt;
    return NominalSize{(*thickness - timber_less) * mm_per_inch,
                       (*width - timber_less) * mm_per_inch};
  }
  const auto thick = listed(thicknesses, *thickness);
  const auto wide = listed(widths, *width);
  if (!thick || !wide) return std::nullopt;
  return NominalSize{*thick, *wide};
}

}  // namespace kerfwright
