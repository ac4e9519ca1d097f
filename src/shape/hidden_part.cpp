#include "hidden_part.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>
#include <vector>

#include "kerfwright/shape/mark_geometry.hpp"

namespace kerfwright {
namespace {

constexpr int bins = 24;        // half hours
constexpr double mostly = 0.5;  // hidden

int bin_of(const LogShape& shape, std::size_t angle) {
  const double turn = 2.0 * std::numbers::pi * static_cast<double>(angle) / shape.angles;
  const double hours = clock_hours({std::cos(turn), std::sin(turn)});
  return static_cast<int>(hours * bins / 12.0) % bins;
}

/// A run of neighbours, of a ring where it may run over the end.
struct Run {
  int from = 0, length = 0;
};

Run longest_run(const std::vector<bool>& marked, bool ring) {
  const int count = static_cast<int>(marked.size());
  Run longest, now;
  for (int i = 0; i < (ring ? 2 * count : count); ++i) {
    if (!marked[static_cast<std::size_t>(i % count)]) {
      now = {};
      continue;
    }
    if (now.length == 0) now.from = i % count;
    now.length = std::min(now.length + 1, count);
    if (now.length > longest.length) longest = now;
  }
  return longest;
}

/// Which bins of the clock are mostly hidden over the whole length.
std::vector<bool> hidden_bins(const LogShape& shape) {
  std::vector<double> hidden(bins, 0.0), all(bins, 0.0);
  for (std::size_t j = 0; j < static_cast<std::size_t>(shape.angles); ++j) {
    const auto bin = static_cast<std::size_t>(bin_of(shape, j));
    for (const auto& row : shape.seen) {
      all[bin] += 1.0;
      hidden[bin] += row[j] == 0 ? 1.0 : 0.0;
    }
  }
  std::vector<bool> marked;
  for (std::size_t b = 0; b < bins; ++b) marked.push_back(hidden[b] > mostly * all[b]);
  return marked;
}

/// Which stations are mostly hidden within a run of bins.
std::vector<bool> hidden_stations(const LogShape& shape, const Run& side) {
  std::vector<bool> marked;
  for (const auto& row : shape.seen) {
    double hidden = 0, all = 0;
    for (std::size_t j = 0; j < row.size(); ++j) {
      const int after = (bin_of(shape, j) - side.from + bins) % bins;
      if (after >= side.length) continue;
      all += 1.0;
      hidden += row[j] == 0 ? 1.0 : 0.0;
    }
    marked.push_back(all > 0.0 && hidden > mostly * all);
  }
  return marked;
}

}  // namespace

std::optional<HiddenPart> largest_hidden_part(const LogShape& shape) {
  Run side = longest_run(hidden_bins(shape), true);
  if (side.length < 2) side = {0, bins};  // no side; then perhaps a stretch of the log
  const Run stretch = longest_run(hidden_stations(shape, side), false);
  if (stretch.length == 0) return std::nullopt;
  const auto first = static_cast<std::size_t>(stretch.from);
  const auto last = first + static_cast<std::size_t>(stretch.length) - 1;
  HiddenPart part;
  part.from = shape.stations[first];
  part.to = shape.stations[last];
  if (part.to - part.from < 0.1 * shape.length()) return std::nullopt;
  part.clock_from = 12.0 * side.from / bins;
  part.clock_to = side.length == bins
                      ? part.clock_from
                      : std::fmod(part.clock_from + 12.0 * side.length / bins, 12.0);
  return part;
}

std::string in_words(const HiddenPart& part) {
  const auto whole = [](double mm) { return std::to_string(std::lround(mm)); };
  const std::string along =
      "from " + whole(part.from) + " to " + whole(part.to) + " mm from the butt";
  if (part.clock_from == part.clock_to) return "the log all round, " + along;
  return "the side from " + half_hour_text(part.clock_from) + " to " +
         half_hour_text(part.clock_to) + " o'clock (seen from the butt, 12 is up as it lay), " +
         along;
}

}  // namespace kerfwright
