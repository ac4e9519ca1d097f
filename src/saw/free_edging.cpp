#include "free_edging.hpp"

#include <algorithm>
#include <cmath>

#include "lane_marks.hpp"

namespace kerfwright::saw {
namespace {

constexpr double place_gap = 150.0;  // mm
constexpr int most_gaps = 16;
constexpr double length_step = 10.0;  // mm, of bounds by length
constexpr double gain = 1e-6;         // that another way must bring
const double most_scale = std::hypot(1.0, most_lean);

}  // namespace

/// The ways of cutting one flitch into segments.
class FreeEdger::Ways {
 public:
  Ways(FreeEdger& edger, const FlitchClass& flitch, const FlitchWood& wood, const MarksAt* marks)
      : edger_(edger), flitch_(flitch), wood_(wood), marks_(marks), places_(edger.places(wood)) {
    const std::size_t n = places_.size();
    worth_.assign(n, std::vector<double>(n, 0.0));
    lean_.assign(n, std::vector<double>(n, 0.0));
    known_.assign(n, std::vector<char>(n, 0));
    for (std::size_t i = 0; i < n; ++i) {
      for (std::size_t j = i + 1; j < n; ++j) {
        worth_[i][j] = edger_.most_in(flitch_, wood_, places_[i], places_[j] - 1);
        known_[i][j] = worth_[i][j] <= 0.0 ? 1 : 0;
      }
      const bool inside = i > 0 && i + 1 < n;
      cost_.push_back(inside ? edger_.cut_cost(flitch_, wood_, places_[i]) : 0.0);
    }
  }

  struct Way {
    double worth = 0;
    std::vector<std::size_t> at;  ///< indices of places, the ends among them
  };

  /// The best way by what is known or bounded.
  Way best() const {
    const std::size_t n = places_.size();
    const std::size_t end = n - 1;
    Way way{worth_[0][end], {0, end}};
    for (std::size_t i = 1; i < end; ++i) {
      const double one = worth_[0][i] - cost_[i];
      if (one + worth_[i][end] > way.worth + gain) way = {one + worth_[i][end], {0, i, end}};
      for (std::size_t j = i + 1; j < end; ++j) {
        const double two = one + worth_[i][j] - cost_[j] + worth_[j][end];
        if (two > way.worth + gain) way = {two, {0, i, j, end}};
      }
    }
    return way;
  }

  Way exact() {
    refine(0, places_.size() - 1);
    while (true) {
      Way way = best();
      bool all = true;
      for (std::size_t k = 0; k + 1 < way.at.size(); ++k) {
        if (known_[way.at[k]][way.at[k + 1]] != 0) continue;
        refine(way.at[k], way.at[k + 1]);
        all = false;
        break;
      }
      if (all) return way;
    }
  }

  Edging laid_out(const Way& way) const {
    Edging edging;
    edging.worth = way.worth;
    for (std::size_t k = 0; k + 1 < way.at.size(); ++k) {
      edging.segments.push_back(segment(way.at[k], way.at[k + 1], lean_[way.at[k]][way.at[k + 1]]));
      const Segment& made = edging.segments.back();
      Edger edger(edger_.catalogue_, made.border);
      const int runs = edging.pieces.empty() ? 0 : edging.pieces.back().run + 1;
      for (Piece piece : edger.layout(flitch_, made.wood)) {
        piece.run += runs;
        piece.segment = k;
        edging.pieces.push_back(piece);
      }
    }
    return edging;
  }

 private:
  Segment segment(std::size_t i, std::size_t j, double lean) const {
    return segment_of(flitch_, wood_, edger_.border_, places_[i], places_[j] - 1, lean,
                      edger_.room(), lean_spare(edger_.catalogue_.tape_step), edger_.exact_cells_,
                      *marks_);
  }

  void refine(std::size_t i, std::size_t j) {
    double most = 0.0;
    for (const double lean : leans_of(wood_, edger_.border_, places_[i], places_[j] - 1)) {
      const Segment made = segment(i, j, lean);
      const double worth = Edger(edger_.catalogue_, made.border).best(flitch_, made.wood);
      if (worth <= most + gain) continue;
      most = worth;
      lean_[i][j] = lean;
    }
    worth_[i][j] = most;
    known_[i][j] = 1;
  }

  FreeEdger& edger_;
  const FlitchClass& flitch_;
  const FlitchWood& wood_;
  const MarksAt* marks_;
  std::vector<int> places_;
  std::vector<std::vector<double>> worth_, lean_;  ///< [from][to] indices of places
  std::vector<std::vector<char>> known_;
  std::vector<double> cost_;  ///< [place]
};

Edging FreeEdger::best(const FlitchClass& flitch, const FlitchWood& wood, const MarksAt& marks) {
  Ways ways(*this, flitch, wood, &marks);
  return ways.laid_out(ways.exact());
}

double FreeEdger::bound(const FlitchClass& flitch, const FlitchWood& wood) {
  return Ways(*this, flitch, wood, nullptr).best().worth;
}

/// No blade may come near metal.
std::vector<int> FreeEdger::places(const FlitchWood& wood) const {
  const auto first = static_cast<std::size_t>(wood.first_cell);
  const auto end = static_cast<std::size_t>(wood.last_cell) + 1;
  const double length = border_[end] - border_[first];
  const int gaps = std::clamp(static_cast<int>(length / place_gap), 1, most_gaps);
  const auto near_metal = [&](int place) {
    if (!wood.marks) return false;
    const auto& touches = wood.marks->touches;
    return std::any_of(touches.begin(), touches.end(), [&](const FlitchMarks::Touch& touch) {
      return touch.kind == MarkKind::metal && (touch.cell == place || touch.cell + 1 == place);
    });
  };
  std::vector<int> found = {wood.first_cell};
  for (int k = 1; k < gaps; ++k) {
    const double x = border_[first] + length * k / gaps;
    const int place = nearest_border(border_, x);
    if (place <= found.back() || place > wood.last_cell || near_metal(place)) continue;
    found.push_back(place);
  }
  found.push_back(wood.last_cell + 1);
  return found;
}

double FreeEdger::cut_cost(const FlitchClass& flitch, const FlitchWood& wood, int place) const {
  const auto i = static_cast<std::size_t>(place);
  const int units = std::max(0, std::min(wood.outer.right.at[i - 1], wood.outer.right.at[i]) -
                                    std::max(wood.outer.left.at[i - 1], wood.outer.left.at[i]));
  return catalogue_.fixed_cross_cost +
         catalogue_.area_cost * flitch.thickness * units / units_per_mm;
}

/// As bound_of, for a stretch whose lanes may lean: the mm of a lane are more than the log's,
/// pieces of one lane need not be of the whole length, and a lane that leans with both edges of a
/// cell finds it as wide as the narrower of its two ends.
double FreeEdger::most_in(const FlitchClass& flitch, const FlitchWood& wood, int first, int last) {
  const int most = static_cast<int>(flitch.density.size()) - 1;
  const Interval& rows = flitch.wanes.empty() ? wood.outer : wood.inner[flitch.wanes.size() - 1];
  const auto units_at = [&](int cell, int beside) {
    const auto i = static_cast<std::size_t>(cell);
    if (!exact_cells_ || beside < wood.first_cell || beside > wood.last_cell) {
      return rows.right.at[i] - rows.left.at[i];
    }
    const auto k = static_cast<std::size_t>(beside);
    return std::max(rows.right.at[i], rows.right.at[k]) -
           std::min(rows.left.at[i], rows.left.at[k]);
  };
  double sum = 0.0;
  int widest = 0;
  for (int c = first; c <= last; ++c) {
    const auto i = static_cast<std::size_t>(c);
    if (rows.left.at[i] >= rows.right.at[i]) continue;
    const int units = std::min(units_at(c, c - 1), units_at(c, c + 1));
    const int mm = std::min(units / units_per_mm, most);
    widest = std::max(widest, mm);
    sum += static_cast<double>(flitch.density[static_cast<std::size_t>(mm)]) *
           (border_[i + 1] - border_[i]);
  }
  if (widest == 0) return 0.0;
  const double length =
      border_[static_cast<std::size_t>(last) + 1] - border_[static_cast<std::size_t>(first)];
  const double whole =
      static_cast<double>(packed(flitch, length * most_scale)[static_cast<std::size_t>(widest)]);
  return 1.00001 * std::min(most_scale * sum, whole);
}

const std::vector<float>& FreeEdger::packed(const FlitchClass& flitch, double length) {
  const int steps = static_cast<int>(std::ceil(length / length_step));
  auto& table = packed_[{&flitch, steps}];
  if (!table.empty()) return table;
  std::vector<double> worth;
  for (const Lane& lane : flitch.lanes) {
    const auto mm = static_cast<std::size_t>(steps * length_step);
    const auto& trimmed = lane.trimming.worth;
    worth.push_back(
        trimmed.empty() ? 0.0 : static_cast<double>(trimmed[std::min(mm, trimmed.size() - 1)]));
  }
  table =
      packing(flitch.lanes, worth, catalogue_.kerf, static_cast<int>(flitch.density.size()) - 1);
  return table;
}

}  // namespace kerfwright::saw
