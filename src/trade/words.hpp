#pragma once

#include <cstddef>
#include <string>
#include <string_view>
#include <vector>

namespace kerfwright {

/// The number as a person would write it: the shortest text that reads back as the same number.
std::string number_text(double value);

/// The text with a blank for each line break or other control character.
std::string one_line(std::string_view text);

/// The word in quotation marks, on one line, cut to what a sentence can carry.
std::string in_quotes(std::string_view word);

/// How many letters must be put in, left out, changed or swapped with their neighbour to turn one
/// word into the other (F. J. Damerau, 1964; no letter is touched twice).
std::size_t letters_apart(std::string_view a, std::string_view b);

/// The candidates that could have been meant: at most `most` of them, nearest first, of equally
/// near ones the earlier; none that is further away than a third of the longer word.
std::vector<std::string> close_words(std::string_view word,
                                     const std::vector<std::string>& candidates, std::size_t most);

}  // namespace kerfwright
