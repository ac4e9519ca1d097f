#pragma once

#include <cstddef>
#include <optional>
#include <string_view>

namespace kerfwright {

/// The line of the first key of TOML text that holds more than `most` dots, such as a.a.a.a.a.
/// The parser builds a table for each dot and takes the tables down again by recursion, so that a
/// long enough key would overflow the stack (seen with toml++ 3.3: 900 kB of dots end the program).
/// Its own limit of nesting does not count dots.
std::optional<std::size_t> line_of_deep_key(std::string_view toml, std::size_t most);

}  // namespace kerfwright
