#include <algorithm>
#include <charconv>
#include <cmath>
#include <set>

#include "kerfwright/archive/tally.hpp"
#include "kerfwright/error.hpp"
#include "kerfwright/trade/inches.hpp"
#include "trade/words.hpp"

namespace kerfwright {
namespace {

constexpr std::size_t largest_tally = 10'000'000;  // bytes
constexpr std::size_t most_pieces = 100'000;
constexpr double longest = 30'000.0;  // mm

/// The file that is read, and where.
struct Place {
  std::string name;
  int line = 0;
};

[[noreturn]] void refuse(const Place& place, const std::string& why) {
  throw UserError(Fault::bad_tally, "The tally '" + place.name + "', line " +
                                        std::to_string(place.line) + ": " + why + ".");
}

/// A line of a table, and the line of the file that it begins in.
struct Row {
  int line = 0;
  std::vector<std::string> fields;
};

std::string trimmed(const std::string& text) {
  const auto first = text.find_first_not_of(" \t");
  if (first == std::string::npos) return {};
  return text.substr(first, text.find_last_not_of(" \t") - first + 1);
}

std::vector<Row> rows_of(const std::string& csv, char separator, const std::string& name) {
  std::vector<Row> rows;
  Row row{1, {""}};
  bool quoted = false;
  int line = 1;
  const auto end_row = [&] {
    const bool blank = std::all_of(row.fields.begin(), row.fields.end(),
                                   [](const std::string& field) { return trimmed(field).empty(); });
    if (!blank) rows.push_back(std::move(row));
    row = {line + 1, {""}};
  };
  for (std::size_t i = 0; i < csv.size(); ++i) {
    const char c = csv[i];
    if (quoted) {
      if (c == '"' && i + 1 < csv.size() && csv[i + 1] == '"') {
        row.fields.back() += csv[++i];
      } else if (c == '"') {
        quoted = false;
      } else {
        row.fields.back() += c;
      }
    } else if (c == '"' && trimmed(row.fields.back()).empty()) {
      row.fields.back().clear();
      quoted = true;
    } else if (c == separator) {
      row.fields.emplace_back();
    } else if (c == '\n') {
      end_row();
    } else if (c != '\r') {
      row.fields.back() += c;
    }
    if (c == '\n') ++line;
  }
  if (quoted) refuse({name, row.line}, "a quotation mark is not closed");
  end_row();
  return rows;
}

std::optional<double> number(const Place& place, const char* what, std::string text, bool comma,
                             double most) {
  text = trimmed(text);
  if (text.empty()) return std::nullopt;
  if (comma) std::replace(text.begin(), text.end(), ',', '.');
  double value = 0;
  const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), value);
  if (error != std::errc() || end != text.data() + text.size() || !(value >= 0.0 && value <= most))
    refuse(place, std::string(what) + " is " + in_quotes(text) + " and no number from 0 to " +
                      number_text(most));
  return value;
}

/// mm of a size in inches: "1.5", "1 1/2".
std::optional<double> inches(const Place& place, const char* what, std::string text, bool comma) {
  text = trimmed(text);
  if (text.empty()) return std::nullopt;
  if (comma) std::replace(text.begin(), text.end(), ',', '.');
  const auto size = length_of(text + " in");
  if (!size || *size > longest)
    refuse(place, std::string(what) + " is " + in_quotes(text) +
                      " and no size in inches such as 1.5 or 1 1/2");
  return size;
}

/// Where each column stands; -1 = nowhere.
struct Columns {
  int board = -1, thickness = -1, width = -1, length = -1, value = -1, note = -1;
  std::set<int> in_inches;
};

Columns columns_of(const Row& header, const std::string& name) {
  Columns columns;
  for (std::size_t i = 0; i < header.fields.size(); ++i) {
    std::string word = trimmed(header.fields[i]);
    const bool inches = word.ends_with(" (in)");
    if (inches || word.ends_with(" (mm)")) word = word.substr(0, word.size() - 5);
    int* column = word == "board"       ? &columns.board
                  : word == "thickness" ? &columns.thickness
                  : word == "width"     ? &columns.width
                  : word == "length"    ? &columns.length
                  : word == "value"     ? &columns.value
                  : word == "note"      ? &columns.note
                                        : nullptr;
    const bool ignored = word.empty() || word == "product" || word == "currency" ||
                         word == "flitch" || word == "freed by cut";
    if (column == nullptr && !ignored)
      refuse({name, header.line}, "no column is called " + in_quotes(word) +
                                      "; a tally has board, thickness, width, length, value and "
                                      "note, as boards.csv has them");
    if (column == nullptr) continue;
    if (*column >= 0) refuse({name, header.line}, "the column '" + word + "' stands there twice");
    *column = static_cast<int>(i);
    if (inches) columns.in_inches.insert(*column);
  }
  if (columns.board < 0)
    refuse({name, header.line}, "the first line names the columns, and one of them is 'board'");
  return columns;
}

TalliedPiece piece_of(const Row& row, const Columns& columns, const std::string& name, bool comma) {
  const Place place{name, row.line};
  const auto field = [&](int column) {
    const auto at = static_cast<std::size_t>(column);
    return column >= 0 && at < row.fields.size() ? row.fields[at] : std::string();
  };
  const auto size = [&](const char* what, int column) {
    if (!columns.in_inches.contains(column))
      return number(place, what, field(column), comma, longest);
    return inches(place, what, field(column), comma);
  };
  TalliedPiece piece;
  const double board = number(place, "the board", field(columns.board), comma, 1e6).value_or(0.0);
  if (board != std::floor(board)) refuse(place, "the board is no whole number");
  piece.board = static_cast<int>(board);
  piece.thickness = size("the thickness", columns.thickness);
  piece.width = size("the width", columns.width);
  piece.length = size("the length", columns.length);
  piece.value = number(place, "the value", field(columns.value), comma, 1e12);
  piece.note = one_line(field(columns.note));
  if (piece.board == 0 && !(piece.thickness && piece.width && piece.length))
    refuse(place, "a piece beside the plan (without a board) needs thickness, width and length");
  return piece;
}

}  // namespace

Tally parse_tally(const std::string& csv, const std::string& name) {
  if (csv.size() > largest_tally) refuse({name, 1}, "it is larger than 10 MB");
  const std::string text = csv.starts_with("\xEF\xBB\xBF") ? csv.substr(3) : csv;
  const std::string first = text.substr(0, text.find('\n'));
  const bool semicolons = first.find(';') != std::string::npos;
  const auto rows = rows_of(text, semicolons ? ';' : ',', name);
  if (rows.empty())
    refuse({name, 1}, "it holds nothing; copy boards.csv of the plan to begin with");
  const Columns columns = columns_of(rows.front(), name);
  Tally tally;
  for (std::size_t i = 1; i < rows.size(); ++i) {
    const Row& row = rows[i];
    const Place place{name, row.line};
    if (trimmed(row.fields.front()) == "minutes") {
      const auto minutes = number(place, "the minutes", row.fields.size() > 1 ? row.fields[1] : "",
                                  semicolons, 100'000.0);
      if (!minutes) refuse(place, "behind 'minutes' stands how many the sawing took");
      if (tally.minutes) refuse(place, "the minutes stand there twice");
      tally.minutes = minutes;
      continue;
    }
    if (tally.pieces.size() >= most_pieces) refuse(place, "it has more than 100,000 pieces");
    tally.pieces.push_back(piece_of(row, columns, name, semicolons));
  }
  return tally;
}

}  // namespace kerfwright
