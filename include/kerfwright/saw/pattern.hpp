#pragma once

#include <algorithm>
#include <array>
#include <string>
#include <string_view>
#include <vector>

namespace kerfwright {

/// A way of sawing a log. A cross-cut parts the log first; each part is then sawn in a way of its
/// own.
enum class Pattern { live, cant, boxed_heart, quarter, around, slabs, blanks, cross_cut };

/// The trade's names, in the order of Pattern.
inline constexpr std::array<std::string_view, 8> pattern_names = {
    "live", "cant", "boxed-heart", "quarter", "around", "slabs", "blanks", "cross-cut"};

inline std::string_view pattern_name(Pattern pattern) {
  return pattern_names[static_cast<std::size_t>(pattern)];
}

/// @throws UserError usage, for a name that is none of pattern_names
Pattern pattern_named(const std::string& name);

inline bool is_among(const std::vector<Pattern>& patterns, Pattern pattern) {
  return std::find(patterns.begin(), patterns.end(), pattern) != patterns.end();
}

/// Whether there is an upper bound on what such patterns bring: it covers sawing through and
/// through and with cants, and nothing else.
bool are_bounded(const std::vector<Pattern>& patterns);

/// Whether what a pattern can bring has an upper bound.
bool is_bounded(Pattern pattern);

/// The patterns of a plan.pattern: one name, or several with ", " between.
/// @throws UserError usage, as pattern_named
std::vector<Pattern> patterns_named(const std::string& names);

/// What a plan.pattern says to a person, as in "sawn through and through"; for one name or several
/// with ", " between.
std::string pattern_words(const std::string& names);

}  // namespace kerfwright
