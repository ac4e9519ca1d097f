#include "thinning.hpp"

#include <algorithm>
#include <cmath>
#include <cstdint>

namespace kerfwright {
namespace {

constexpr double cube_edge = 50.0;          // mm, wider than the noise of a phone many times over
constexpr std::uint64_t enough_kept = 100;  // of a cube: a point every 5 mm of a surface
constexpr std::uint64_t strays = 4;         // a cube with no more holds strays, not a surface
constexpr std::int64_t axis_bits = 21;

/// Numbers for the cubes that hold points, given out as they come.
class CubeNumbers {
 public:
  CubeNumbers() : slots_(std::size_t{1} << 16) {}

  std::uint32_t number_of(const Eigen::Vector3f& point) {
    const std::uint64_t key = key_of(point);
    Slot& slot = find(key);
    if (slot.key == key) return slot.number;
    const std::uint32_t number = count_++;
    slot = {key, number};
    if (2 * std::size_t{count_} > slots_.size()) grow();
    return number;
  }
  std::uint32_t count() const { return count_; }

 private:
  struct Slot {
    std::uint64_t key = 0;  ///< 0 = free; a key has its highest bit set
    std::uint32_t number = 0;
  };

  static std::uint64_t key_of(const Eigen::Vector3f& point) {
    std::uint64_t key = 1;
    for (const float c : point) {
      constexpr double last = static_cast<double>((std::int64_t{1} << axis_bits) - 1);
      const double cube = std::floor(static_cast<double>(c) / cube_edge) + (last + 1.0) / 2.0;
      key = (key << axis_bits) | static_cast<std::uint64_t>(std::clamp(cube, 0.0, last));
    }
    return key;
  }

  /// The slot of a key, or the free one where it belongs.
  Slot& find(std::uint64_t key) {
    const std::size_t mask = slots_.size() - 1;
    // Multiplication by the golden ratio of 2^64 spreads neighbouring keys (Knuth, vol. 3, 6.4).
    std::size_t at = (key * 0x9E3779B97F4A7C15U >> 20) & mask;
    while (slots_[at].key != 0 && slots_[at].key != key) at = (at + 1) & mask;
    return slots_[at];
  }

  void grow() {
    std::vector<Slot> old(2 * slots_.size());
    old.swap(slots_);
    for (const Slot& slot : old)
      if (slot.key != 0) find(slot.key) = slot;
  }

  std::vector<Slot> slots_;
  std::uint32_t count_ = 0;
};

/// Of a cube of `count` points so many stay where the share of all is `share`.
std::uint64_t kept_of(std::uint64_t count, double share) {
  const auto shared = static_cast<std::uint64_t>(share * static_cast<double>(count));
  return std::max(shared, std::min(count, enough_kept));
}

/// The share that leaves `enough` of the cubes that hold more than strays; 0 where even the least
/// of every cube is more than that.
double choose_share(const std::vector<std::uint32_t>& counts, std::size_t enough) {
  double low = 0.0;
  double high = 1.0;
  for (int step = 0; step < 24; ++step) {
    const double share = 0.5 * (low + high);
    std::size_t kept = 0;
    for (const std::uint32_t count : counts)
      if (count > strays) kept += kept_of(count, share);
    (kept > enough ? high : low) = share;
  }
  return low;
}

/// Of `count` points in their order `most`, evenly.
bool is_kept(std::uint64_t rank, std::uint64_t count, std::uint64_t most) {
  return count <= most || (rank + 1) * most / count > rank * most / count;
}

/// The points of each cube, and which of them stay.
class Choice {
 public:
  Choice(const std::vector<std::uint32_t>& cube_of, std::size_t cubes, std::size_t enough)
      : counts_(cubes), ranks_(cubes) {
    for (const std::uint32_t cube : cube_of) ++counts_[cube];
    share_ = choose_share(counts_, enough);
    for (const std::uint32_t count : counts_) strays_ += count <= strays ? count : 0;
    strays_kept_ = strays_ * enough / cube_of.size();
  }

  /// To be asked for every point in its order.
  bool keeps(std::uint32_t cube) {
    const std::uint64_t count = counts_[cube];
    return count <= strays ? is_kept(stray_rank_++, strays_, strays_kept_)
                           : is_kept(ranks_[cube]++, count, kept_of(count, share_));
  }

 private:
  std::vector<std::uint32_t> counts_;
  std::vector<std::uint32_t> ranks_;
  double share_ = 0.0;
  std::uint64_t strays_ = 0;
  std::uint64_t strays_kept_ = 0;
  std::uint64_t stray_rank_ = 0;
};

}  // namespace

Thinning thin_out(std::vector<Eigen::Vector3f>& points, std::size_t enough) {
  Thinning thinning{points.size(), points.size(), cube_edge, enough_kept};
  if (points.size() <= enough) return thinning;
  CubeNumbers cubes;
  std::vector<std::uint32_t> cube_of(points.size());
  for (std::size_t i = 0; i < points.size(); ++i) cube_of[i] = cubes.number_of(points[i]);
  Choice choice(cube_of, cubes.count(), enough);
  std::size_t kept = 0;
  for (std::size_t i = 0; i < points.size(); ++i)
    if (choice.keeps(cube_of[i])) points[kept++] = points[i];
  points.resize(kept);
  points.shrink_to_fit();
  thinning.after = kept;
  return thinning;
}

}  // namespace kerfwright
