#pragma once

#include <optional>
#include <string>
#include <string_view>

/// Lengths as a person with an inch tape says them. Inside the program everything is mm.
namespace kerfwright {

/// mm, what a tape in inches is read to.
constexpr double sixteenth_inch = 25.4 / 16;

/// mm of "1 1/2 in", "2.5 in", "8 ft", "8 ft 6 in", "50 mm", "2.4 m"; also 1-1/2 in, and " and '
/// for inches and feet. Empty for any other text, a number without its unit among them.
std::optional<double> length_of(std::string_view text);

/// A length in inches to the nearest whole part: "5 3/8", "3/8", "0", "-1 1/2".
/// @param parts of an inch, a power of two: 16 gives sixteenths, the fraction in lowest terms
std::string inch_text(double mm, int parts = 16);

/// A length in inches as it is said in a sentence: sixteenths where they are near enough, else
/// decimals, so that 1 mm is 0.04 and not 1/16.
std::string said_inches(double mm);

/// A sentence with its lengths in mm and m, such as "2600 mm", "27 x 140 x 900 mm", "50 to 300 mm"
/// or "1.84 m", said in inches, volumes in m3 in cubic feet, masses in kg in pounds. Everything
/// else stays as it is, what stands between quotation marks, too.
std::string sentence_in_inches(const std::string& sentence);

/// A step that a scale in inches can have, mm: a whole number of thirty-seconds stays as it is, any
/// other becomes the nearest whole number of sixteenths, at least one.
double inch_step(double mm);

/// The size to saw, mm, of softwood lumber that is called by its nominal size in inches, as "2x4"
/// or "1 1/4 x 6": the least green size when dressed after PS 20.
struct NominalSize {
  double thickness = 0, width = 0;
};

/// Empty where the standard lists no such size.
std::optional<NominalSize> nominal_size(std::string_view text);

}  // namespace kerfwright
