#include "kerfwright/saw/pattern.hpp"

#include <algorithm>
#include <sstream>

#include "kerfwright/error.hpp"

namespace kerfwright {
namespace {

constexpr std::array<std::string_view, pattern_names.size()> words = {
    "through and through",      "with a cant", "about a boxed heart",      "in quarters", "around",
    "in slabs with live edges", "in blanks",   "in parts, cross-cut first"};

}  // namespace

Pattern pattern_named(const std::string& name) {
  const auto found = std::find(pattern_names.begin(), pattern_names.end(), name);
  if (found != pattern_names.end()) return static_cast<Pattern>(found - pattern_names.begin());
  std::string known;
  for (const std::string_view other : pattern_names) {
    known.append(known.empty() ? "" : ", ").append(other);
  }
  throw UserError(Fault::usage, "There is no pattern '" + name + "': known are " + known + ".");
}

bool is_bounded(Pattern pattern) { return pattern == Pattern::live || pattern == Pattern::cant; }

bool are_bounded(const std::vector<Pattern>& patterns) {
  return !patterns.empty() && std::all_of(patterns.begin(), patterns.end(), is_bounded);
}

std::vector<Pattern> patterns_named(const std::string& names) {
  std::vector<Pattern> patterns;
  std::istringstream parts(names);
  for (std::string name; std::getline(parts >> std::ws, name, ',');) {
    patterns.push_back(pattern_named(name));
  }
  return patterns;
}

std::string pattern_words(const std::string& names) {
  std::string text;
  std::istringstream parts(names);
  for (std::string name; std::getline(parts >> std::ws, name, ',');) {
    const auto found = std::find(pattern_names.begin(), pattern_names.end(), name);
    text += text.empty() ? "" : ", ";
    text += found == pattern_names.end()
                ? name
                : std::string(words[static_cast<std::size_t>(found - pattern_names.begin())]);
  }
  return text;
}

}  // namespace kerfwright
