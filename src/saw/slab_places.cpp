#include "slab_places.hpp"

#include <algorithm>
#include <bit>
#include <cmath>
#include <limits>

#include "frame.hpp"
#include "lane_marks.hpp"

namespace kerfwright::saw {
namespace {

constexpr double hair = 1e-6;     // mm
constexpr double as_good = 1e-9;  // of a worth
constexpr int places_across = 5;  // at which figure and rings are looked at

/// A sum along the log that runs evenly within each cell.
struct Sum {
  std::array<double, max_cells + 1> up_to{};
  std::array<double, max_cells> per_mm{};

  void fill(const std::vector<double>& border, int cells) {
    for (int c = 0; c < cells; ++c) {
      const auto i = static_cast<std::size_t>(c);
      up_to[i + 1] = up_to[i] + per_mm[i] * (border[i + 1] - border[i]);
    }
  }
  double at(const std::vector<double>& border, int cell, double x) const {
    const auto i = static_cast<std::size_t>(cell);
    return up_to[i] + per_mm[i] * (x - border[i]);
  }
};

/// One product on the flitch.
struct Ground {
  std::array<float, max_cells> factor{};  ///< of a slab in this cell; 0 = none may lie there
  std::array<int, max_cells> run_end{};   ///< one past the last cell that a slab from here may use
  std::vector<std::array<float, max_cells>> least;  ///< [p][cell] least factor of 2^p cells
  bool even = true;  ///< whether all cells that may be used have one factor
  Sum place;         ///< figure times rings
  bool by_place = false;
  double most_place = 1;

  float worst(int first, int last) const {
    const auto count = static_cast<unsigned>(last - first + 1);
    const auto p = static_cast<std::size_t>(std::bit_width(count) - 1);
    return std::min(least[p][static_cast<std::size_t>(first)],
                    least[p][static_cast<std::size_t>(last + 1 - (1 << p))]);
  }
};

class Places {
 public:
  Places(const FlitchClass& flitch, const FlitchWood& wood, const std::vector<double>& border,
         double kerf)
      : flitch_(flitch), wood_(wood), border_(border), kerf_(kerf) {
    cells_ = wood.last_cell + 1;
    for (int c = wood.first_cell; c < cells_; ++c) {
      const auto i = static_cast<std::size_t>(c);
      left_.per_mm[i] = static_cast<double>(wood.outer.left.at[i]) / units_per_mm;
      right_.per_mm[i] = static_cast<double>(wood.outer.right.at[i]) / units_per_mm;
    }
    left_.fill(border, cells_);
    right_.fill(border, cells_);
    for (const Slab& slab : flitch.slabs) ground_.push_back(ground_of(slab));
  }

  double best(std::vector<Piece>* pieces) {
    start_ = border_[static_cast<std::size_t>(wood_.first_cell)] + 0.5 * wood_.end_loss;
    const double room = border_[static_cast<std::size_t>(cells_)] - 0.5 * wood_.end_loss - start_;
    if (room <= 0.0) return 0.0;
    const auto count = static_cast<std::size_t>(room) + 1;
    above_.assign(count + 1, 0.0);
    if (pieces != nullptr) choice_.assign(count, {});
    int cell = cells_ - 1;
    for (std::size_t k = count; k-- > 0;) {
      const double from = start_ + static_cast<double>(k);
      while (cell > wood_.first_cell &&
             border_[static_cast<std::size_t>(cell)] > from - 0.5 * wood_.end_loss + hair) {
        --cell;
      }
      choose(k, from, cell, pieces != nullptr);
    }
    if (pieces != nullptr) trace(*pieces);
    return above_.front();
  }

 private:
  struct Choice {
    int slab = -1, length = 0;
    std::size_t next = 0;
  };

  double width(int c) const {
    const auto i = static_cast<std::size_t>(c);
    return right_.per_mm[i] - left_.per_mm[i];
  }

  /// The factor of a cell by the marks in it; 0 where it cannot be sold.
  float marked(const Slab& slab, int c) const {
    const GradeFactors& grades = slab.by_place->grades;
    const bool graded = slab.by_place->product.grades.has_value();
    if (!wood_.marks) return static_cast<float>(grades.clear);
    if (wood_.marks->at_most) {
      return static_cast<float>(std::max({grades.clear, grades.knots, grades.pith}));
    }
    // Marks in the bevels beside what both faces share are in the slab, too.
    const auto i = static_cast<std::size_t>(c);
    const int bevel = static_cast<int>(std::ceil(flitch_.thickness * units_per_mm));
    const int left = wood_.outer.left.at[i] - bevel;
    const int right = wood_.outer.right.at[i] + bevel;
    double factor = grades.clear;
    bool any = false;
    int knots = 0;
    for (const FlitchMarks::Touch& touch : wood_.marks->touches) {
      if (touch.cell != c || touch.right <= left || touch.left >= right) continue;
      if (touch.kind == MarkKind::hole || touch.kind == MarkKind::metal) return 0.0F;
      if (!graded) continue;
      const double grade = touch.kind == MarkKind::pith ? grades.pith : grades.knots;
      factor = any ? std::min(factor, grade) : grade;
      any = true;
      if (touch.kind == MarkKind::knot) {
        knots += std::min(touch.right, right) - std::max(touch.left, left);
      }
    }
    if (knots > grades.largest_knot * width(c) * units_per_mm) return 0.0F;
    return static_cast<float>(factor);
  }

  bool may_lie(const Slab& slab, int c) const {
    const auto i = static_cast<std::size_t>(c);
    if (width(c) < slab.least_width - hair) return false;
    return !slab.boxed_heart || wood_.heart.left.at[i] < std::numeric_limits<Unit>::max();
  }

  Ground ground_of(const Slab& slab) const {
    Ground ground;
    float one = 0.0F;
    for (int c = cells_ - 1; c >= wood_.first_cell; --c) {
      const auto i = static_cast<std::size_t>(c);
      ground.factor[i] = may_lie(slab, c) ? marked(slab, c) : 0.0F;
      const bool usable = ground.factor[i] > 0.0F;
      const bool goes_on = usable && c + 1 < cells_ && ground.factor[i + 1] > 0.0F;
      ground.run_end[i] = goes_on ? ground.run_end[i + 1] : usable ? c + 1 : c;
      if (!usable) continue;
      if (one > 0.0F && ground.factor[i] != one) ground.even = false;
      one = ground.factor[i];
    }
    ground.least.push_back(ground.factor);
    for (std::size_t span = 2; !ground.even && span <= max_cells; span *= 2) {
      const auto& half = ground.least.back();
      std::array<float, max_cells> whole{};
      for (std::size_t i = 0; i + span <= max_cells; ++i) {
        whole[i] = std::min(half[i], half[i + span / 2]);
      }
      ground.least.push_back(whole);
    }
    find_places(slab, ground);
    return ground;
  }

  void find_places(const Slab& slab, Ground& ground) const {
    const Product& product = slab.by_place->product;
    if (!wood_.marks) return;
    const FlitchMarks& marks = *wood_.marks;
    const bool counts = product.grain || (!product.figure.empty() && !marks.wood->figure().empty());
    if (marks.at_most) ground.most_place = most_place_factor(product);
    ground.by_place = counts && !marks.at_most;
    if (!ground.by_place) return;
    const Frame frame(marks.pose);
    for (int c = wood_.first_cell; c < cells_; ++c) {
      const auto i = static_cast<std::size_t>(c);
      if (ground.factor[i] <= 0.0F) continue;
      const double x = 0.5 * (border_[i] + border_[i + 1]);
      double sum = 0.0;
      for (int k = 0; k < places_across; ++k) {
        const double lateral = left_.per_mm[i] + width(c) * (k + 0.5) / places_across;
        const Eigen::Vector3d point = frame.point(x, lateral, marks.middle);
        const double grain =
            product.grain
                ? grain_factor(*product.grain, ring_angle(marks.wood->pith(), point, frame.up))
                : 1.0;
        sum += grain * marks.wood->figure_factor(product, point);
      }
      ground.place.per_mm[i] = sum / places_across;
    }
    ground.place.fill(border_, cells_);
  }

  /// The best that can begin at place k or further on.
  void choose(std::size_t k, double from, int first_cell, bool keep) {
    double best = above_[k + 1];
    const int cell_from = cell_at(from, first_cell);
    const double left_from = left_.at(border_, cell_from, from);
    const double right_from = right_.at(border_, cell_from, from);
    for (std::size_t s = 0; s < ground_.size(); ++s) {
      const Ground& ground = ground_[s];
      const int end = ground.run_end[static_cast<std::size_t>(first_cell)];
      const double limit = border_[static_cast<std::size_t>(end)] - 0.5 * wood_.end_loss + hair;
      const Slab& slab = flitch_.slabs[s];
      for (std::size_t l = 0; l < slab.lengths.size(); ++l) {
        const Slab::Length& length = slab.lengths[l];
        const double to = from + length.mm;
        if (to > limit || length.rate <= 0.0) continue;
        const int cell_to = cell_at(to, cell_from);
        const double area = (right_.at(border_, cell_to, to) - right_from) -
                            (left_.at(border_, cell_to, to) - left_from);
        double factor = static_cast<double>(ground.factor[static_cast<std::size_t>(first_cell)]);
        if (!ground.even) {
          const int last = cell_at(to + 0.5 * wood_.end_loss - hair, first_cell);
          factor = static_cast<double>(ground.worst(first_cell, std::min(last, end - 1)));
        }
        if (ground.by_place) {
          factor *=
              (ground.place.at(border_, cell_to, to) - ground.place.at(border_, cell_from, from)) /
              length.mm;
        }
        const double worth = length.rate * area * factor * ground.most_place - length.fixed_cost -
                             length.cost_per_width * area / length.mm;
        if (worth <= 0.0) continue;
        const auto next = std::min(
            above_.size() - 1,
            static_cast<std::size_t>(std::ceil(static_cast<double>(k) + length.mm + kerf_ - hair)));
        const double total = worth + above_[next];
        if (total < best - as_good || (total <= best && keep && choice_[k].slab >= 0)) continue;
        best = std::max(best, total);
        if (keep) choice_[k] = {static_cast<int>(s), static_cast<int>(l), next};
      }
    }
    above_[k] = best;
  }

  /// The cell in which a place lies, at `from_cell` or further on.
  int cell_at(double x, int from_cell) const {
    int c = from_cell;
    while (c + 1 < cells_ && border_[static_cast<std::size_t>(c) + 1] <= x) ++c;
    return c;
  }

  void trace(std::vector<Piece>& pieces) const {
    for (std::size_t k = 0; k < choice_.size();) {
      const Choice& choice = choice_[k];
      if (choice.slab < 0) {
        ++k;
        continue;
      }
      const Slab& slab = flitch_.slabs[static_cast<std::size_t>(choice.slab)];
      const double from = start_ + static_cast<double>(k);
      const double to = from + slab.lengths[static_cast<std::size_t>(choice.length)].mm;
      const auto mean = [&](const Sum& sum) {
        return (sum.at(border_, cell_at(to, 0), to) - sum.at(border_, cell_at(from, 0), from)) /
               (to - from) * units_per_mm;
      };
      Piece piece;
      piece.product = slab.product;
      piece.length = choice.length;
      piece.left = static_cast<int>(std::ceil(mean(left_) - hair));
      const int right = static_cast<int>(std::floor(mean(right_) + hair));
      piece.width = static_cast<double>(right - piece.left) / units_per_mm;
      piece.start = from;
      piece.run = static_cast<int>(pieces.size());
      pieces.push_back(piece);
      k = choice.next;
    }
  }

  const FlitchClass& flitch_;
  const FlitchWood& wood_;
  const std::vector<double>& border_;
  double kerf_;
  int cells_ = 0;
  Sum left_, right_;
  std::vector<Ground> ground_;
  double start_ = 0;
  std::vector<double> above_;  ///< U, by whole mm beyond `start_`
  std::vector<Choice> choice_;
};

}  // namespace

float slab_bound(const FlitchClass& flitch, const FlitchWood& wood,
                 const std::vector<double>& border) {
  double sum = 0.0;
  for (int c = wood.first_cell; c <= wood.last_cell; ++c) {
    const auto i = static_cast<std::size_t>(c);
    const double width =
        static_cast<double>(wood.outer.right.at[i] - wood.outer.left.at[i]) / units_per_mm;
    double most = 0.0;
    for (const Slab& slab : flitch.slabs) {
      if (width < slab.least_width - hair) continue;
      for (const Slab::Length& length : slab.lengths) {
        most = std::max(most, length.rate * slab.by_place->most);
      }
    }
    sum += most * width * (border[i + 1] - border[i]);
  }
  return static_cast<float>(sum * 1.00001);
}

double best_slabs(const FlitchClass& flitch, const FlitchWood& wood,
                  const std::vector<double>& border, double kerf, std::vector<Piece>* pieces) {
  return Places(flitch, wood, border, kerf).best(pieces);
}

}  // namespace kerfwright::saw
