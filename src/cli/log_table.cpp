#include <algorithm>
#include <array>

#include "archive_commands.hpp"
#include "kerfwright/fixed.hpp"
#include "kerfwright/trade/amounts.hpp"
#include "kerfwright/trade/inches.hpp"

namespace kerfwright::cli {
namespace {

constexpr std::size_t columns = 8;
using Row = std::array<std::string, columns>;

/// Characters, not bytes.
std::size_t letters(const std::string& text) {
  return static_cast<std::size_t>(std::count_if(text.begin(), text.end(), [](char c) {
    return (static_cast<unsigned char>(c) & 0xc0) != 0x80;
  }));
}

Row row_of(const KeptLog& log, bool inches) {
  const auto length = [&](double mm) { return inches ? inch_text(mm) : fixed(mm, 0); };
  const LogSizes& sizes = log.sizes;
  return {log.card.name,
          log.card.species,
          length(sizes.length),
          length(sizes.middle),
          length(sizes.sweep),
          Amounts{inches}.log_number(sizes.volume_under),
          log.card.felled,
          std::to_string(log.plans) + (log.tallies > 0 ? ", " + std::to_string(log.tallies) : "")};
}

}  // namespace

std::string log_table(const std::vector<KeptLog>& logs, bool inches) {
  const std::string unit = inches ? ", in" : "";
  std::vector<Row> rows = {{"name", "species", "length" + unit, "middle" + unit, "sweep" + unit,
                            Amounts{inches}.log_unit(), "felled", "plans, tallies"}};
  for (const KeptLog& log : logs) rows.push_back(row_of(log, inches));
  std::array<std::size_t, columns> widths{};
  for (const Row& row : rows)
    for (std::size_t i = 0; i < columns; ++i) widths[i] = std::max(widths[i], letters(row[i]));
  std::string text;
  for (const Row& row : rows) {
    std::string line;
    for (std::size_t i = 0; i < columns; ++i) {
      const std::string blanks(widths[i] - letters(row[i]), ' ');
      const bool number = i >= 2 && i <= 5;
      line += number ? blanks + row[i] : row[i] + blanks;
      line += "  ";
    }
    line.erase(line.find_last_not_of(' ') + 1);
    text += line + "\n";
  }
  return text;
}

}  // namespace kerfwright::cli
