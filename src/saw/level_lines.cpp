#include "level_lines.hpp"

#include <algorithm>

namespace kerfwright::saw {
namespace {

constexpr double nowhere = 1e9;

double crossing(double y0, double a, double y1, double b, double level) {
  return y0 + (y1 - y0) * (level - a) / (b - a);
}

}  // namespace

/// By insertion: from section to section the order hardly changes.
void LevelLines::sort(const std::vector<double>& heights) {
  const std::size_t count = heights.size();
  if (order_.size() != count) {
    order_.resize(count);
    for (std::size_t i = 0; i < count; ++i) order_[i] = i;
    rank_.resize(count);
    sorted_.resize(count);
  }
  for (std::size_t i = 1; i < count; ++i) {
    const std::size_t moved = order_[i];
    std::size_t at = i;
    while (at > 0 && heights[order_[at - 1]] > heights[moved]) {
      order_[at] = order_[at - 1];
      --at;
    }
    order_[at] = moved;
  }
  for (std::size_t i = 0; i < count; ++i) {
    rank_[order_[i]] = i;
    sorted_[i] = heights[order_[i]];
  }
}

void LevelLines::walk(const std::vector<float>& lateral, const std::vector<float>& aloft) {
  const std::size_t count = sorted_.size();
  left_.assign(count, nowhere);
  right_.assign(count, -nowhere);
  many_.assign(count, 0);
  head_.assign(count + 1, -1);
  next_.assign(lateral.size(), -1);
  const auto cross = [&](std::vector<double>& side, std::size_t level, double at) {
    if (side[level] != nowhere && side[level] != -nowhere) many_[level] = 1;
    side[level] = at;
  };
  // How many levels lie at or below the corner.
  std::size_t below = 0;
  while (below < count && sorted_[below] <= static_cast<double>(aloft[0])) ++below;
  for (std::size_t j = 0; j < lateral.size(); ++j) {
    const std::size_t k = j + 1 == lateral.size() ? 0 : j + 1;
    const auto a = static_cast<double>(aloft[j]);
    const auto b = static_cast<double>(aloft[k]);
    const auto y0 = static_cast<double>(lateral[j]);
    const auto y1 = static_cast<double>(lateral[k]);
    for (; below < count && sorted_[below] <= b; ++below) {
      cross(right_, below, crossing(y0, a, y1, b, sorted_[below]));
    }
    for (; below > 0 && sorted_[below - 1] > b; --below) {
      cross(left_, below - 1, crossing(y0, a, y1, b, sorted_[below - 1]));
    }
    next_[k] = head_[below];
    head_[below] = static_cast<int>(k);
  }
}

void LevelLines::keep_widest(const std::vector<float>& lateral, const std::vector<float>& aloft,
                             std::size_t level) {
  const double height = sorted_[level];
  std::vector<double> at;
  for (std::size_t j = 0; j < lateral.size(); ++j) {
    const std::size_t k = j + 1 == lateral.size() ? 0 : j + 1;
    const auto a = static_cast<double>(aloft[j]);
    const auto b = static_cast<double>(aloft[k]);
    if ((height <= a) == (height <= b)) continue;
    at.push_back(
        crossing(static_cast<double>(lateral[j]), a, static_cast<double>(lateral[k]), b, height));
  }
  std::sort(at.begin(), at.end());
  left_[level] = nowhere;
  right_[level] = -nowhere;
  for (std::size_t i = 0; i + 1 < at.size(); i += 2) {
    if (at[i + 1] - at[i] > right_[level] - left_[level]) {
      left_[level] = at[i];
      right_[level] = at[i + 1];
    }
  }
}

void LevelLines::stretches(const std::vector<float>& lateral, const std::vector<float>& aloft,
                           const std::vector<double>& heights, const std::vector<Between>& asked,
                           std::vector<Stretch>& out) {
  sort(heights);
  walk(lateral, aloft);
  for (std::size_t level = 0; level < many_.size(); ++level) {
    if (many_[level] != 0) keep_widest(lateral, aloft, level);
  }
  out.resize(asked.size());
  for (std::size_t i = 0; i < asked.size(); ++i) {
    const std::size_t low = rank_[asked[i].low];
    const std::size_t high = rank_[asked[i].high];
    Stretch& stretch = out[i];
    stretch.left = std::max(left_[low], left_[high]);
    stretch.right = std::min(right_[low], right_[high]);
    const double middle = 0.5 * (stretch.left + stretch.right);
    for (std::size_t bin = low + 1; bin <= high; ++bin) {
      for (int corner = head_[bin]; corner >= 0; corner = next_[static_cast<std::size_t>(corner)]) {
        const auto at = static_cast<double>(lateral[static_cast<std::size_t>(corner)]);
        if (at <= stretch.left || at >= stretch.right) continue;
        (at > middle ? stretch.right : stretch.left) = at;
      }
    }
  }
}

}  // namespace kerfwright::saw
