#include <array>
#include <cstdio>
#include <filesystem>

#include "kerfwright/archive/archive.hpp"
#include "kerfwright/error.hpp"
#include "trade/words.hpp"

namespace kerfwright {
namespace {

constexpr std::size_t longest_name = 200;     // bytes
constexpr std::size_t longest_text = 10'000;  // bytes

/// How many bytes the character at `at` has in UTF-8; 0 where there is none.
std::size_t character(const std::string& text, std::size_t at) {
  const auto byte = [&](std::size_t i) {
    return at + i < text.size() ? static_cast<unsigned char>(text[at + i]) : 0U;
  };
  const unsigned first = byte(0);
  if (first < 0x80) return 1;
  const std::size_t size = first >= 0xf0 ? 4 : first >= 0xe0 ? 3 : 2;
  if (first < 0xc2 || first > 0xf4) return 0;
  for (std::size_t i = 1; i < size; ++i)
    if ((byte(i) & 0xc0) != 0x80) return 0;
  const bool overlong = (first == 0xe0 && byte(1) < 0xa0) || (first == 0xf0 && byte(1) < 0x90);
  const bool surrogate = first == 0xed && byte(1) >= 0xa0;
  return overlong || surrogate || (first == 0xf4 && byte(1) >= 0x90) ? 0 : size;
}

bool is_plain_text(const std::string& text, bool lines) {
  for (std::size_t at = 0; at < text.size();) {
    const std::size_t size = character(text, at);
    const auto byte = static_cast<unsigned char>(text[at]);
    const bool control = byte < 0x20 || byte == 0x7f ||
                         (byte == 0xc2 && static_cast<unsigned char>(text[at + 1]) < 0xa0);
    if (size == 0 || (control && !(lines && (byte == '\n' || byte == '\t')))) return false;
    at += size;
  }
  return true;
}

void check_text(const char* what, const std::string& text, std::size_t most, bool lines) {
  if (text.size() > most)
    throw UserError(Fault::usage, std::string("The ") + what + " of a log may have " +
                                      std::to_string(most) + " bytes; shorten it.");
  if (!is_plain_text(text, lines))
    throw UserError(Fault::usage, std::string("The ") + what + " " + in_quotes(text) +
                                      " holds control characters or is not UTF-8; write it "
                                      "in plain letters.");
}

void check_date(const std::string& date) {
  if (date.empty()) return;
  int year = 0, month = 1, day = 1, used = 0;
  const std::array<const char*, 3> forms = {"%4d%n", "%4d-%2d%n", "%4d-%2d-%2d%n"};
  const std::array<std::size_t, 3> sizes = {4, 7, 10};
  for (std::size_t i = 0; i < forms.size(); ++i) {
    if (date.size() != sizes[i] || date.find_first_not_of("0123456789-") != std::string::npos)
      continue;
    const int got = i == 0   ? std::sscanf(date.c_str(), forms[i], &year, &used)
                    : i == 1 ? std::sscanf(date.c_str(), forms[i], &year, &month, &used)
                             : std::sscanf(date.c_str(), forms[i], &year, &month, &day, &used);
    const bool whole = got == static_cast<int>(i) + 1 && used == static_cast<int>(date.size());
    if (whole && year >= 1000 && month >= 1 && month <= 12 && day >= 1 && day <= 31) return;
  }
  throw UserError(Fault::usage,
                  "A log is felled in a year, a month or on a day, YYYY, YYYY-MM or "
                  "YYYY-MM-DD, not " +
                      in_quotes(date) + ".");
}

}  // namespace

LogCard checked(LogCard card, const std::string& file) {
  if (card.name.empty()) card.name = std::filesystem::path(file).stem().string();
  check_text("name", card.name, longest_name, false);
  if (card.name.empty() || card.name.front() == ' ' || card.name.back() == ' ')
    throw UserError(Fault::usage,
                    "The name of a log is not empty and neither begins nor ends with "
                    "a blank; give one with --name.");
  check_text("species", card.species, longest_name, false);
  check_text("place", card.place, longest_text, false);
  check_text("note", card.note, longest_text, true);
  check_date(card.felled);
  if (card.moisture && !(*card.moisture >= 0.0 && *card.moisture <= 300.0))
    throw UserError(Fault::usage, "The moisture of a log is 0 to 300 % of its oven-dry mass, not " +
                                      number_text(*card.moisture) + ".");
  return card;
}

}  // namespace kerfwright
