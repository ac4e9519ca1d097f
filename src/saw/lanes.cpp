#include "lanes.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <optional>
#include <utility>

#include "clear_cells.hpp"
#include "lane_marks.hpp"
#include "slab_places.hpp"

namespace kerfwright::saw {
namespace {

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

/// Where no mark and no wane by length counts, what a lane brings is a matter of its clear runs
/// alone, which lanes that need the same wood share.
class Edger::PlainLanes {
 public:
  PlainLanes(Edger& edger, const FlitchClass& flitch, const FlitchWood& wood)
      : edger_(edger), flitch_(flitch), step_(edger.catalogue_.step_units) {
    const std::size_t lanes = flitch.lanes.size();
    falls_from_.assign(lanes, std::numeric_limits<int>::max());
    for (std::size_t k = 0; k < lanes; ++k) {
      const Lane& lane = flitch.lanes[k];
      const Clear& clear = edger.clear_[k];
      const auto same = std::find_if(needs_.begin(), needs_.end(), [&](const Need& need) {
        return need_the_same_wood(flitch.lanes[need.lane], lane);
      });
      need_of_.push_back(static_cast<std::size_t>(same - needs_.begin()));
      if (same != needs_.end()) {
        falls_from_[k] = falls_from_[same->lane];
        continue;
      }
      needs_.push_back({k, -1, {}, {}});
      if (losing_cells_never_pays(wood, edger.border_, edger.catalogue_.kerf, clear.loss)) {
        falls_from_[k] =
            steps_up(furthest_left(*clear.rows, wood.first_cell, wood.last_cell, lane.width_units) -
                         edger.start_,
                     step_);
      }
    }
  }

  /// Whether it can bring no more than when it starts a step before; what is left of it must be
  /// worth the same there.
  bool no_better_than_before(std::size_t k, int step) const {
    return step > falls_from_[k] && step > edger_.clear_[k].first;
  }

  /// What it brings that starts there, less what it costs.
  double net(std::size_t k, int step) {
    Clear& clear = edger_.clear_[k];
    if (step >= clear.whole_first && step <= clear.whole_last) return clear.whole_net;
    Need& need = needs_[need_of_[k]];
    if (need.step != step) look(need, step);
    if (!same_cells(need.cells, clear.seen)) {
      float worth = 0.0F;
      for (const double run : need.runs) {
        worth += run_worth(flitch_.lanes[k].trimming, run - clear.loss);
      }
      clear.seen = need.cells;
      clear.seen_worth = worth;
    }
    return static_cast<double>(clear.seen_worth) - clear.cost;
  }

 private:
  /// Of lanes that need the same wood.
  struct Need {
    std::size_t lane = 0;  ///< the first of them
    int step = -1;         ///< at which it was looked at last
    CellBits cells{};
    std::vector<double> runs;  ///< mm
  };

  void look(Need& need, int step) const {
    const int left = edger_.start_ + step * step_;
    const CellBits cells = clear_cells(*edger_.clear_[need.lane].rows, left,
                                       left + flitch_.lanes[need.lane].width_units);
    need.step = step;
    if (same_cells(cells, need.cells)) return;
    need.cells = cells;
    need.runs.clear();
    for_runs(cells, [&](int first, int end) {
      need.runs.push_back(edger_.border_[static_cast<std::size_t>(end)] -
                          edger_.border_[static_cast<std::size_t>(first)]);
    });
  }

  Edger& edger_;
  const FlitchClass& flitch_;
  int step_;
  std::vector<Need> needs_;
  std::vector<std::size_t> need_of_;  ///< [lane]
  std::vector<int> falls_from_;       ///< [lane] step from which on it only loses cells
};

double Edger::sweep(const FlitchClass& flitch, const FlitchWood& wood, bool keep_trace) {
  prepare(flitch, wood);
  int most_pitch = 1;
  for (const Lane& lane : flitch.lanes) most_pitch = std::max(most_pitch, lane.pitch_steps);
  const auto size = static_cast<std::size_t>(steps_ + most_pitch + 1);
  const bool all_plain = !wood.marks && std::all_of(clear_.begin(), clear_.end(),
                                                    [](const Clear& clear) { return clear.plain; });
  std::optional<PlainLanes> plain;
  if (all_plain) plain.emplace(*this, flitch, wood);
  best_.assign(size, 0.0);
  if (keep_trace) trace_.assign(size, -1);
  for (int j = 0; j <= steps_; ++j) {
    const auto at = static_cast<std::size_t>(j);
    const bool as_before = j > 0 && best_[at - 1] >= best_[at];
    if (as_before) {
      best_[at] = best_[at - 1];
      if (keep_trace) trace_[at] = -1;
    }
    const double before = best_[at];
    for (std::size_t k = 0; k < flitch.lanes.size(); ++k) {
      const Clear& clear = clear_[k];
      if (j < clear.first || j > clear.last) continue;
      if (as_before && plain && plain->no_better_than_before(k, j)) continue;
      const double net = plain ? plain->net(k, j) : net_of(wood, flitch.lanes[k], k, j);
      if (net <= 0.0) continue;
      const auto end = at + static_cast<std::size_t>(flitch.lanes[k].pitch_steps);
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
