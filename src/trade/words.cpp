#include "words.hpp"

#include <algorithm>
#include <array>
#include <charconv>
#include <cmath>
#include <utility>

namespace kerfwright {

std::string number_text(double value) {
  std::array<char, 40> text{};
  const double size = std::abs(value);
  const bool plain = size == 0 || (size >= 1e-4 && size < 1e9);  // 100000, not 1e+05
  const auto form = plain ? std::chars_format::fixed : std::chars_format::general;
  const auto result = std::to_chars(text.data(), text.data() + text.size(), value, form);
  return std::string(text.data(), result.ptr);
}

std::string one_line(std::string_view text) {
  std::string line(text);
  const auto is_control = [](char c) { return (c >= 0 && c < 32) || c == 127; };
  std::replace_if(line.begin(), line.end(), is_control, ' ');
  return line;
}

std::string in_quotes(std::string_view word) {
  constexpr std::size_t most = 60;  // bytes that a sentence can carry
  std::size_t end = std::min(most, word.size());
  if (end < word.size()) {
    while (end > 0 && (static_cast<unsigned char>(word[end]) & 0xC0U) == 0x80U)
      --end;  // whole UTF-8
  }
  std::string text = "'";
  text += one_line(word.substr(0, end));
  text += end < word.size() ? "…'" : "'";
  return text;
}

std::size_t letters_apart(std::string_view a, std::string_view b) {
  // rows[i][j]: steps from the first i letters of a to the first j of b
  std::vector<std::vector<std::size_t>> rows(a.size() + 1, std::vector<std::size_t>(b.size() + 1));
  for (std::size_t i = 0; i <= a.size(); ++i) rows[i][0] = i;
  for (std::size_t j = 0; j <= b.size(); ++j) rows[0][j] = j;
  for (std::size_t i = 1; i <= a.size(); ++i) {
    for (std::size_t j = 1; j <= b.size(); ++j) {
      const std::size_t change = rows[i - 1][j - 1] + (a[i - 1] == b[j - 1] ? 0 : 1);
      rows[i][j] = std::min({change, rows[i - 1][j] + 1, rows[i][j - 1] + 1});
      if (i > 1 && j > 1 && a[i - 1] == b[j - 2] && a[i - 2] == b[j - 1]) {
        rows[i][j] = std::min(rows[i][j], rows[i - 2][j - 2] + 1);
      }
    }
  }
  return rows[a.size()][b.size()];
}

std::vector<std::string> close_words(std::string_view word,
                                     const std::vector<std::string>& candidates, std::size_t most) {
  constexpr std::size_t longest_word = 64;  // longer is no slip of the pen, and costs time
  std::vector<std::pair<std::size_t, std::string>> found;
  if (word.size() > longest_word) return {};
  for (const std::string& candidate : candidates) {
    const std::size_t apart = letters_apart(word, candidate);
    if (3 * apart <= std::max(word.size(), candidate.size())) found.emplace_back(apart, candidate);
  }
  std::stable_sort(found.begin(), found.end(),
                   [](const auto& a, const auto& b) { return a.first < b.first; });
  std::vector<std::string> words;
  for (std::size_t i = 0; i < std::min(most, found.size()); ++i) words.push_back(found[i].second);
  return words;
}

}  // namespace kerfwright
