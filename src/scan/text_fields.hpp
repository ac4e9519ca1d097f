#pragma once

#include <optional>
#include <string_view>
#include <vector>

namespace kerfwright {

/// Lines of a text one after the other, without their ends (LF, CRLF or a lone CR).
class LineReader {
 public:
  explicit LineReader(std::string_view text) : rest_(text) {}
  /// The next line, or nothing at the end of the text.
  std::optional<std::string_view> next();
  std::size_t number() const { return number_; }  ///< of the last line given out, from 1
  bool ended() const { return ended_; }           ///< the last line had its line end
  std::string_view rest() const { return rest_; }

 private:
  std::string_view rest_;
  std::size_t number_ = 0;
  bool ended_ = true;
};

/// Cuts a line at any of `separators`; several in a row count once.
void split_fields(std::string_view line, std::string_view separators,
                  std::vector<std::string_view>& fields);

/// The number that fills the whole field; nan and inf are numbers here.
std::optional<double> parse_number(std::string_view field);

/// The same, and nan where the field is no number.
double number_or_nan(std::string_view field);

/// Without blanks at either end.
std::string_view trimmed(std::string_view text);

}  // namespace kerfwright
