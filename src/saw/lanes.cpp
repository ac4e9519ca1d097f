#include "lanes.hpp"

#include <algorithm>
#include <bit>
#include <cmath>
#include <limits>
#include <utility>

#include "lane_marks.hpp"
#include "slab_places.hpp"
#ifdef __SSE2__
#include <emmintrin.h>
#endif

namespace kerfwright::saw {
namespace {

/// Cells where left <= from and right >= to.
#ifdef __SSE2__
CellBits clear_cells(const Interval& rows, int from, int to) {
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
CellBits clear_cells(const Interval& rows, int from, int to) {
  CellBits bits{};
  for (std::size_t c = 0; c < max_cells; ++c) {
    const bool clear = rows.left.at[c] <= from && rows.right.at[c] >= to;
    bits[c / 64] |= static_cast<std::uint64_t>(clear) << (c % 64);
  }
  return bits;
}
#endif

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

float run_worth(const Trimming& trimming, double length) {
  const int mm = static_cast<int>(length);
  if (length < 0.0 || trimming.worth.empty()) return 0.0F;
  return trimming.worth[std::min(static_cast<std::size_t>(mm), trimming.worth.size() - 1)];
}

Unit shifted(Unit bound, int by) {
  return static_cast<Unit>(std::clamp(static_cast<int>(bound) + by, -32768, 32767));
}

/// What a lane needs: its full width on the inner part, its width without wane on the outer.
void wood_rows(const FlitchWood& wood, const Lane& lane, Interval& rows) {
  if (lane.wane < 0) {
    rows = wood.outer;
    return;
  }
  const Interval& inner = wood.inner[static_cast<std::size_t>(lane.wane)];
  for (std::size_t c = 0; c < max_cells; ++c) {
    rows.left.at[c] = std::max(inner.left.at[c], shifted(wood.outer.left.at[c], -lane.wane_units));
    rows.right.at[c] =
        std::min(inner.right.at[c], shifted(wood.outer.right.at[c], lane.wane_units));
  }
}

void lane_rows(const FlitchWood& wood, const Lane& lane, Interval& rows) {
  wood_rows(wood, lane, rows);
  if (!lane.boxed_heart) return;
  for (std::size_t c = 0; c < max_cells; ++c) {
    int left = rows.left.at[c];
    int right = rows.right.at[c];
    narrow_to_heart(wood, lane, c, left, right);
    rows.left.at[c] = shifted(0, left);
    rows.right.at[c] = shifted(0, right);
  }
}

double lane_end_loss(const FlitchWood& wood, const Lane& lane) {
  return wood.end_loss + lane.width * std::abs(wood.lean);
}

/// Rounded up, and down, for any sign.
int steps_up(int units, int step) {
  return units >= 0 ? (units + step - 1) / step : -(-units / step);
}
int steps_down(int units, int step) { return -steps_up(-units, step); }

/// Whether a piece fetches the most there is where no mark touches it.
bool fetches_most_where_clear(const Lane& lane) {
  const LaneWorth& worth = *lane.by_place;
  const bool by_place = worth.product.grain || !worth.product.figure.empty();
  return !by_place && worth.grades.clear >= worth.most;
}

}  // namespace

Edger::Extent Edger::extent_of(const Interval& rows, const FlitchWood& wood) {
  Extent extent;
  for (int c = wood.first_cell; c <= wood.last_cell; ++c) {
    const Unit left = rows.left.at[static_cast<std::size_t>(c)];
    const Unit right = rows.right.at[static_cast<std::size_t>(c)];
    const bool some = left < right;
    extent.from = std::min(extent.from, some ? left : std::numeric_limits<Unit>::max());
    extent.to = std::max(extent.to, some ? right : std::numeric_limits<Unit>::min());
    extent.whole_from = std::max(extent.whole_from, left);
    extent.whole_to = std::min(extent.whole_to, right);
  }
  return extent;
}

void narrow_to_heart(const FlitchWood& wood, const Lane& lane, std::size_t cell, int& left,
                     int& right) {
  left = std::max(left, wood.heart.left.at[cell] - lane.width_units);
  right = std::min(right, wood.heart.right.at[cell] + lane.width_units);
}

float bound_of(const FlitchClass& flitch, const FlitchWood& wood,
               const std::vector<double>& border) {
  if (!flitch.slabs.empty()) return slab_bound(flitch, wood, border);
  const int most = static_cast<int>(flitch.density.size()) - 1;
  const Interval& widest_rows =
      flitch.wanes.empty() ? wood.outer : wood.inner[flitch.wanes.size() - 1];
  float sum = 0.0F;
  int widest = 0;
  for (int c = wood.first_cell; c <= wood.last_cell; ++c) {
    const auto i = static_cast<std::size_t>(c);
    const int units = widest_rows.right.at[i] - widest_rows.left.at[i];
    if (units <= 0) continue;
    const int mm = std::min(units / units_per_mm, most);
    widest = std::max(widest, mm);
    sum += flitch.density[static_cast<std::size_t>(mm)] *
           static_cast<float>(border[i + 1] - border[i]);
  }
  const float edged = std::max(0.0F, sum * 1.00001F - static_cast<float>(flitch.least_cost));
  return std::min(edged, flitch.whole[static_cast<std::size_t>(widest)]);
}

/// The lateral grid of the flitch and where on it each lane may start.
void Edger::prepare(const FlitchClass& flitch, const FlitchWood& wood) {
  const std::size_t lanes = flitch.lanes.size();
  clear_.resize(lanes);
  own_rows_.resize(lanes);
  marks_.assign(lanes, nullptr);
  int from = std::numeric_limits<int>::max();
  int to = std::numeric_limits<int>::min();
  const Clear* alike = nullptr;  // a lane before that needs its width of the whole flitch, too
  for (std::size_t k = 0; k < lanes; ++k) {
    const Lane& lane = flitch.lanes[k];
    Clear& clear = clear_[k];
    clear.rows = &wood.outer;
    if (lane.wane >= 0 || lane.boxed_heart) {
      lane_rows(wood, lane, own_rows_[k]);
      clear.rows = &own_rows_[k];
      clear.extent = extent_of(*clear.rows, wood);
    } else {
      clear.extent = alike != nullptr ? alike->extent : extent_of(*clear.rows, wood);
      alike = &clear;
    }
    clear.loss = lane_end_loss(wood, lane);
    from = std::min<int>(from, clear.extent.from);
    to = std::max<int>(to, clear.extent.to);
    clear.plain = !lane.partly_waney() && (!wood.marks || fetches_most_where_clear(lane));
    clear.graded = lane.by_place->product.grades.has_value();
  }
  const int step = catalogue_.step_units;
  if (from > to) from = to = wood.zero;
  start_ = wood.zero + steps_up(from - wood.zero, step) * step;
  steps_ = to > start_ ? (to - start_) / step : 0;
  const double length = length_of(wood);
  const double share = std::min(1.0, length / catalogue_.length);
  for (std::size_t k = 0; k < lanes; ++k) {
    const Lane& lane = flitch.lanes[k];
    Clear& clear = clear_[k];
    const Extent& extent = clear.extent;
    clear.cost = rip_cost(lane, share) + lane.start_cost;
    clear.first = std::max(0, steps_up(extent.from - start_, step));
    clear.last = std::min(steps_, steps_down(extent.to - lane.width_units - start_, step));
    clear.whole_first = steps_up(extent.whole_from - start_, step);
    clear.whole_last = steps_down(extent.whole_to - lane.width_units - start_, step);
    clear.whole_net =
        static_cast<double>(run_worth(lane.trimming, length - clear.loss)) - clear.cost;
    clear.seen = {};
    clear.seen_worth = 0.0F;
  }
}

/// What the lane is worth by place, where it is not only a matter of clear cells.
LaneMarks* Edger::marks_at(const FlitchWood& wood, const Lane& lane, std::size_t k, int left) {
  const Clear& clear = clear_[k];
  const bool by_grade = clear.graded && wood.marks && is_touched(*wood.marks, lane, left);
  if (clear.plain && !by_grade) return nullptr;
  if (!marks_[k]) {
    marks_[k] = std::make_shared<LaneMarks>(lane, wood, border_, catalogue_.kerf, clear.loss);
  }
  return marks_[k].get();
}

/// Cells in which pieces of the lane may lie.
CellBits Edger::cells_of(const FlitchWood& wood, const Lane& lane, std::size_t k, int left) const {
  if (wood.marks && metal_beside(*wood.marks, lane, left, catalogue_.kerf)) return {};
  CellBits cells = clear_cells(*clear_[k].rows, left, left + lane.width_units);
  if (wood.marks) leave_harmed(*wood.marks, lane, left, cells);
  return cells;
}

/// What a lane brings that starts there, less what it costs.
double Edger::net_of(const FlitchWood& wood, const Lane& lane, std::size_t k, int step) {
  Clear& clear = clear_[k];
  const int left = start_ + step * catalogue_.step_units;
  if (LaneMarks* marks = marks_at(wood, lane, k, left)) {
    return static_cast<double>(static_cast<float>(marks->best(*clear.rows, left))) - clear.cost;
  }
  const bool whole = step >= clear.whole_first && step <= clear.whole_last;
  if (whole && (!wood.marks || !is_touched(*wood.marks, lane, left))) return clear.whole_net;
  const CellBits cells = cells_of(wood, lane, k, left);
  if (cells != clear.seen) {
    float worth = 0.0F;
    for_runs(cells, [&](int first, int end) {
      worth += run_worth(lane.trimming, border_[static_cast<std::size_t>(end)] -
                                            border_[static_cast<std::size_t>(first)] - clear.loss);
    });
    clear.seen = cells;
    clear.seen_worth = worth;
  }
  return static_cast<double>(clear.seen_worth) - clear.cost;
}

double Edger::length_of(const FlitchWood& wood) const {
  return border_[static_cast<std::size_t>(wood.last_cell) + 1] -
         border_[static_cast<std::size_t>(wood.first_cell)];
}

/// Of one rip cut along a share of the log's length.
double Edger::rip_cost(const Lane& lane, double share) const {
  return catalogue_.fixed_rip_cost + share * (lane.rip_cost - catalogue_.fixed_rip_cost);
}

double Edger::sweep(const FlitchClass& flitch, const FlitchWood& wood, bool keep_trace) {
  prepare(flitch, wood);
  int most_pitch = 1;
  for (const Lane& lane : flitch.lanes) most_pitch = std::max(most_pitch, lane.pitch_steps);
  const auto size = static_cast<std::size_t>(steps_ + most_pitch + 1);
  const bool all_plain = !wood.marks && std::all_of(clear_.begin(), clear_.end(),
                                                    [](const Clear& clear) { return clear.plain; });
  best_.assign(size, 0.0);
  if (keep_trace) trace_.assign(size, -1);
  for (int j = 0; j <= steps_; ++j) {
    const auto at = static_cast<std::size_t>(j);
    if (j > 0 && best_[at - 1] >= best_[at]) {
      best_[at] = best_[at - 1];
      if (keep_trace) trace_[at] = -1;
    }
    const double before = best_[at];
    for (std::size_t k = 0; k < flitch.lanes.size(); ++k) {
      const Clear& clear = clear_[k];
      if (j < clear.first || j > clear.last) continue;
      const Lane& lane = flitch.lanes[k];
      const bool whole = all_plain && j >= clear.whole_first && j <= clear.whole_last;
      const double net = whole ? clear.whole_net : net_of(wood, lane, k, j);
      if (net <= 0.0) continue;
      const auto end = at + static_cast<std::size_t>(lane.pitch_steps);
      if (before + net > best_[end]) {
        best_[end] = before + net;
        if (keep_trace) trace_[end] = static_cast<int>(k);
      }
    }
  }
  for (std::size_t i = static_cast<std::size_t>(steps_) + 1; i < size; ++i) {
    if (best_[i - 1] < best_[i]) continue;
    best_[i] = best_[i - 1];
    if (keep_trace) trace_[i] = -1;
  }
  return best_.back();
}

double Edger::best(const FlitchClass& flitch, const FlitchWood& wood) {
  if (!flitch.slabs.empty()) return best_slabs(flitch, wood, border_, catalogue_.kerf);
  const double lanes = sweep(flitch, wood, false);
  if (lanes <= 0.0 || wood.between_faces) return lanes;
  // Beside bark one lane needs two rip cuts, two lanes three.
  const double share = std::min(1.0, length_of(wood) / catalogue_.length);
  return std::max(0.0, lanes - rip_cost(flitch.lanes.front(), share));
}

std::vector<Piece> Edger::layout(const FlitchClass& flitch, const FlitchWood& wood) {
  if (!flitch.slabs.empty()) {
    std::vector<Piece> slabs;
    best_slabs(flitch, wood, border_, catalogue_.kerf, &slabs);
    return slabs;
  }
  sweep(flitch, wood, true);
  std::vector<std::pair<int, std::size_t>> lanes;  // left, lane
  for (std::size_t i = best_.size() - 1; i > 0;) {
    if (trace_[i] < 0) {
      --i;
      continue;
    }
    const auto k = static_cast<std::size_t>(trace_[i]);
    i -= static_cast<std::size_t>(flitch.lanes[k].pitch_steps);
    lanes.emplace_back(start_ + static_cast<int>(i) * catalogue_.step_units, k);
  }
  std::reverse(lanes.begin(), lanes.end());
  std::vector<Piece> pieces;
  int runs = 0;
  for (const auto& [left, k] : lanes) {
    const Lane& lane = flitch.lanes[k];
    const double loss = lane_end_loss(wood, lane);
    if (LaneMarks* marks = marks_at(wood, lane, k, left)) {
      std::vector<LanePiece> found;
      marks->best(*clear_[k].rows, left, &found);
      for (const LanePiece& piece : found) {
        pieces.push_back({lane.product, piece.length, left, piece.start, runs++, 0.0, 0.0, 0});
      }
      continue;
    }
    const auto& lengths = catalogue_.lengths[static_cast<std::size_t>(lane.product)];
    const CellBits cells = cells_of(wood, lane, k, left);
    for_runs(cells, [&, left = left](int first, int end) {
      double at = border_[static_cast<std::size_t>(first)] + 0.5 * loss;
      double room = border_[static_cast<std::size_t>(end)] - 0.5 * loss - at;
      const std::size_t from = pieces.size();
      double spare = room;
      while (room > 0.0) {
        const auto mm = std::min(static_cast<std::size_t>(room), lane.trimming.piece.size() - 1);
        const int piece = lane.trimming.piece[mm];
        if (piece < 0) break;
        pieces.push_back({lane.product, piece, left, at, runs, 0.0, 0.0, 0});
        const double length = lengths[static_cast<std::size_t>(piece)];
        spare = room - length;
        at += length + catalogue_.kerf;
        room -= length + catalogue_.kerf;
      }
      for (std::size_t i = from; i < pieces.size(); ++i) pieces[i].spare = std::max(0.0, spare);
      ++runs;
    });
  }
  return pieces;
}

}  // namespace kerfwright::saw
