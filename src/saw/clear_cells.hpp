#pragma once

#include <algorithm>
#include <bit>
#include <limits>
#include <vector>
#ifdef __SSE2__
#include <emmintrin.h>
#endif

#include "lanes.hpp"

/// Where along a flitch a lane is clear, as one bit for each cell.
namespace kerfwright::saw {

/// Cells where left <= from and right >= to.
#ifdef __SSE2__
inline CellBits clear_cells(const Interval& rows, int from, int to) {
  const __m128i f = _mm_set1_epi16(static_cast<Unit>(from));
  const __m128i t = _mm_set1_epi16(static_cast<Unit>(to));
  CellBits bits{};
  for (int half = 0; half < 2; ++half) {
    std::uint64_t word = 0;
    for (int i = 0; i < 4; ++i) {
      const auto at = static_cast<std::size_t>(half * 64 + i * 16);
      const auto* left = reinterpret_cast<const __m128i*>(rows.left.at.data() + at);
      const auto* right = reinterpret_cast<const __m128i*>(rows.right.at.data() + at);
      const __m128i low = _mm_or_si128(_mm_cmpgt_epi16(_mm_load_si128(left), f),
                                       _mm_cmpgt_epi16(t, _mm_load_si128(right)));
      const __m128i high = _mm_or_si128(_mm_cmpgt_epi16(_mm_load_si128(left + 1), f),
                                        _mm_cmpgt_epi16(t, _mm_load_si128(right + 1)));
      const int blocked = _mm_movemask_epi8(_mm_packs_epi16(low, high));
      word |= static_cast<std::uint64_t>(~static_cast<unsigned>(blocked) & 0xFFFFU) << (16 * i);
    }
    bits[half] = word;
  }
  return bits;
}
#else
inline CellBits clear_cells(const Interval& rows, int from, int to) {
  CellBits bits{};
  for (std::size_t c = 0; c < max_cells; ++c) {
    const bool clear = rows.left.at[c] <= from && rows.right.at[c] >= to;
    bits[c / 64] |= static_cast<std::uint64_t>(clear) << (c % 64);
  }
  return bits;
}
#endif

inline bool same_cells(const CellBits& a, const CellBits& b) {
  return ((a[0] ^ b[0]) | (a[1] ^ b[1])) == 0;
}

/// Calls visit(first cell, one past the last) for each run of set bits, in order.
template <typename Visit>
void for_runs(const CellBits& bits, Visit visit) {
  int start = -1;
  for (int half = 0; half < 2; ++half) {
    std::uint64_t word = bits[half];
    int at = 64 * half;
    if (start >= 0) {
      const int ones = std::countr_one(word);
      if (ones == 64) continue;
      visit(start, at + ones);
      start = -1;
      word = ones == 0 ? word : word & (~std::uint64_t{0} << ones);
    }
    while (word != 0) {
      const int first = std::countr_zero(word);
      const int ones = std::countr_one(word >> first);
      if (first + ones == 64) {
        start = at + first;
        break;
      }
      visit(at + first, at + first + ones);
      word &= ~std::uint64_t{0} << (first + ones);
    }
  }
  if (start >= 0) visit(start, max_cells);
}

/// Whether two lanes need the same wood, so that they are clear in the same cells.
inline bool need_the_same_wood(const Lane& a, const Lane& b) {
  return a.width_units == b.width_units && a.wane == b.wane && a.wane_units == b.wane_units &&
         a.boxed_heart == b.boxed_heart;
}

/// The furthest that the wood reaches in from the left, units, where it is wide enough: further
/// right a start only loses clear cells. The least unit where it is nowhere.
/// @param least_width units
inline int furthest_left(const Interval& rows, int first_cell, int last_cell, int least_width) {
  int furthest = std::numeric_limits<Unit>::min();
  for (int c = first_cell; c <= last_cell; ++c) {
    const int left = rows.left.at[static_cast<std::size_t>(c)];
    const int right = rows.right.at[static_cast<std::size_t>(c)];
    if (right - left >= least_width) furthest = std::max(furthest, left);
  }
  return furthest;
}

/// Whether cells that a run loses never make it worth more: a run that falls in two has lost no
/// less than a kerf between them.
inline bool losing_cells_never_pays(const FlitchWood& wood, const std::vector<double>& border,
                                    double kerf, double loss) {
  if (loss < 0.0) return false;
  for (int c = wood.first_cell + 1; c < wood.last_cell; ++c) {
    const auto i = static_cast<std::size_t>(c);
    if (border[i + 1] - border[i] + loss < kerf) return false;
  }
  return true;
}

}  // namespace kerfwright::saw
