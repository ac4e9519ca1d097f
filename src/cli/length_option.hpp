#pragma once

#include <CLI/CLI.hpp>
#include <optional>
#include <string>

namespace kerfwright::cli {

/// mm of a number, or of a length with its unit as "8 ft 6 in"; empty for any other text.
std::optional<double> mm_of(const std::string& text);

/// Adds --inch.
/// @param sets whether it also makes the mill's scale one in inches
void add_inch(CLI::App* command, bool& inches, bool sets = true);

/// For an option that is a length in mm: a text with its unit is taken, too.
CLI::Validator with_unit();

/// A length of so many mm, which `with_unit` may have made of a text; else a sentence what to
/// write.
CLI::Validator mm_from(double low, double high);

}  // namespace kerfwright::cli
