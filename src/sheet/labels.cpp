#include "labels.hpp"

#include <algorithm>
#include <numeric>

namespace kerfwright::sheet {
namespace {

/// Labels that touch each other, in order; `middle` is the mean of where they want to stand.
struct Cluster {
  std::size_t first, last;
  double middle, room;
};

/// Joins neighbours until none overlap: pool adjacent violators.
std::vector<Cluster> clusters_of(const std::vector<Slot>& slots,
                                 const std::vector<std::size_t>& order) {
  std::vector<Cluster> clusters;
  for (std::size_t i = 0; i < order.size(); ++i) {
    clusters.push_back({i, i, slots[order[i]].want, slots[order[i]].room});
    while (clusters.size() > 1) {
      const Cluster b = clusters.back();
      const Cluster a = clusters[clusters.size() - 2];
      if (b.middle - b.room / 2 >= a.middle + a.room / 2) break;
      clusters.pop_back();
      const auto count_a = static_cast<double>(a.last - a.first + 1);
      const auto count_b = static_cast<double>(b.last - b.first + 1);
      // Each cluster's items sit off its middle by fixed amounts; joined, they shift as one.
      const double middle_if_a = a.middle + b.room / 2;
      const double middle_if_b = b.middle - a.room / 2;
      clusters.back() = {a.first, b.last,
                         (count_a * middle_if_a + count_b * middle_if_b) / (count_a + count_b),
                         a.room + b.room};
    }
  }
  return clusters;
}

}  // namespace

std::vector<double> spread(const std::vector<Slot>& slots, double low, double high) {
  std::vector<std::size_t> order(slots.size());
  std::iota(order.begin(), order.end(), std::size_t{0});
  std::stable_sort(order.begin(), order.end(),
                   [&](std::size_t a, std::size_t b) { return slots[a].want < slots[b].want; });
  std::vector<double> places(slots.size());
  for (const Cluster& cluster : clusters_of(slots, order)) {
    double at = cluster.middle - cluster.room / 2;
    for (std::size_t i = cluster.first; i <= cluster.last; ++i) {
      places[order[i]] = at + slots[order[i]].room / 2;
      at += slots[order[i]].room;
    }
  }
  double end = high;
  for (std::size_t i = order.size(); i-- > 0;) {
    const double half = slots[order[i]].room / 2;
    places[order[i]] = std::min(places[order[i]], end - half);
    end = places[order[i]] - half;
  }
  double start = low;
  for (const std::size_t i : order) {
    const double half = slots[i].room / 2;
    places[i] = std::max(places[i], start + half);
    start = places[i] + half;
  }
  return places;
}

bool Taken::free(const Box& box) const {
  return std::none_of(boxes_.begin(), boxes_.end(),
                      [&](const Box& taken) { return taken.overlaps(box); });
}

std::optional<Point> place_number(Svg& svg, Taken& taken, const Path& places,
                                  const std::string& number, double size) {
  const TextStyle style{size, Anchor::middle, true};
  // Digits have no descenders: the middle of a digit is 0.365 of the size above the base line.
  const Point half(text_width(number, size, true) / 2 + 0.25, 0.365 * size + 0.25);
  for (const Point& place : places) {
    const Box box{place - half, place + half};
    if (!taken.free(box)) continue;
    taken.take(box);
    svg.rect(box, "rx=\"0.6\" fill=\"#fff\"");
    svg.text(place + Point(0.0, 0.365 * size), number, style);
    return place;
  }
  return std::nullopt;
}

}  // namespace kerfwright::sheet
