#include "lane_marks.hpp"

#include <algorithm>
#include <bit>
#include <cmath>
#include <map>
#include <numbers>

#include "frame.hpp"

namespace kerfwright::saw {
namespace {

constexpr double hair = 1e-6;  // mm
constexpr int places_across = 5;

/// The part of a capsule between two heights: where along the log and across it, mm; nothing where
/// it does not come near.
struct Reach {
  double from = 0, to = 0, left = 0, right = 0;
};

std::optional<Reach> reach_of(const Capsule& capsule, const Frame& frame, double bottom, double top,
                              double lean) {
  const double ha = frame.up.dot(capsule.a);
  const double hb = frame.up.dot(capsule.b);
  const double r = capsule.radius;
  if (std::max(ha, hb) + r <= bottom || std::min(ha, hb) - r >= top) return std::nullopt;
  // The part of the segment that is within r of the heights.
  double t0 = 0.0;
  double t1 = 1.0;
  if (std::abs(hb - ha) > hair) {
    const double at_low = (bottom - r - ha) / (hb - ha);
    const double at_high = (top + r - ha) / (hb - ha);
    t0 = std::clamp(std::min(at_low, at_high), 0.0, 1.0);
    t1 = std::clamp(std::max(at_low, at_high), 0.0, 1.0);
  }
  const Eigen::Vector3d p = capsule.a + t0 * (capsule.b - capsule.a);
  const Eigen::Vector3d q = capsule.a + t1 * (capsule.b - capsule.a);
  const double y0 = frame.across.dot(p) - lean * p.x();
  const double y1 = frame.across.dot(q) - lean * q.x();
  const double hp = frame.up.dot(p);
  const double hq = frame.up.dot(q);
  const double off = std::max({0.0, bottom - std::max(hp, hq), std::min(hp, hq) - top});
  const double across = std::sqrt(std::max(0.0, r * r - off * off));
  return Reach{std::min(p.x(), q.x()) - r, std::max(p.x(), q.x()) + r, std::min(y0, y1) - across,
               std::max(y0, y1) + across};
}

bool harms(const FlitchMarks::Touch& touch) {
  return touch.kind == MarkKind::hole || touch.kind == MarkKind::metal;
}

/// Joins what overlaps or touches.
std::vector<FlitchMarks::Stretch> joined(std::vector<FlitchMarks::Stretch> stretches) {
  std::sort(stretches.begin(), stretches.end(),
            [](const auto& a, const auto& b) { return a.left < b.left; });
  std::vector<FlitchMarks::Stretch> apart;
  for (const auto& stretch : stretches) {
    if (apart.empty() || stretch.left > apart.back().right) {
      apart.push_back(stretch);
    } else {
      apart.back().right = std::max(apart.back().right, stretch.right);
    }
  }
  return apart;
}

void find_stretches(FlitchMarks& marks, int kerf) {
  std::vector<FlitchMarks::Stretch> harmful, any;
  for (const FlitchMarks::Touch& touch : marks.touches) {
    if (touch.left >= touch.right) continue;
    any.push_back({touch.left, touch.right});
    if (harms(touch)) harmful.push_back({touch.left, touch.right});
  }
  for (const FlitchMarks::Touch& metal : marks.metal) {
    const FlitchMarks::Stretch stretch{metal.left - kerf, metal.right + kerf};
    any.push_back(stretch);
    harmful.push_back(stretch);
  }
  marks.any = joined(std::move(any));
  marks.harmful = joined(std::move(harmful));
}

int units_down(double mm) { return static_cast<int>(std::floor(mm * units_per_mm)); }
int units_up(double mm) { return static_cast<int>(std::ceil(mm * units_per_mm)); }

}  // namespace

std::shared_ptr<const FlitchMarks> flitch_marks(const Wood& wood, const Pose& pose, double bottom,
                                                double thickness, double lean, double kerf,
                                                bool at_most, int slack) {
  auto made = std::make_shared<FlitchMarks>();
  const Frame frame(pose);
  std::map<std::pair<int, int>, FlitchMarks::Touch> touches;  // by mark and cell
  for (const Capsule& capsule : wood.marks->capsules()) {
    const bool metal = capsule.kind == MarkKind::metal;
    const double clear = metal ? kerf + metal_margin : 0.0;
    const auto reach = reach_of(capsule, frame, bottom, bottom + thickness, lean);
    if (!reach) continue;
    const int left = units_down(reach->left) + slack;
    const int right = units_up(reach->right) - slack;
    if (metal) {
      const int beside = units_up(metal_margin);
      made->metal.push_back({0, left - beside, right + beside, MarkKind::metal});
    }
    const auto first =
        std::upper_bound(wood.border.begin(), wood.border.end(), reach->from - clear);
    int c = std::max(0, static_cast<int>(first - wood.border.begin()) - 1);
    for (; c < wood.cells(); ++c) {
      if (wood.border[static_cast<std::size_t>(c)] >= reach->to + clear) break;
      const auto [at, is_new] = touches.emplace(std::make_pair(capsule.mark, c),
                                                FlitchMarks::Touch{c, left, right, capsule.kind});
      if (is_new) continue;
      at->second.left = std::min(at->second.left, left);
      at->second.right = std::max(at->second.right, right);
    }
  }
  for (const auto& [key, touch] : touches) made->touches.push_back(touch);
  find_stretches(*made, units_up(kerf));
  made->at_most = at_most;
  made->wood = wood.marks;
  made->pose = pose;
  made->middle = bottom + 0.5 * thickness;
  made->lean = lean;
  for (int c = 0; c < wood.cells(); ++c) {
    const auto i = static_cast<std::size_t>(c);
    const double x = 0.5 * (wood.border[i] + wood.border[i + 1]);
    const Eigen::Vector3d pith = wood.marks->pith().point(x);
    made->pith_lateral.push_back(frame.across.dot(pith));
    made->pith_height.push_back(frame.up.dot(pith));
  }
  return made;
}

bool is_touched(const FlitchMarks& marks, const Lane& lane, int left) {
  const auto& stretches = lane.by_place->product.grades ? marks.any : marks.harmful;
  const auto after = std::upper_bound(stretches.begin(), stretches.end(), left,
                                      [](int at, const auto& one) { return at < one.right; });
  return after != stretches.end() && after->left < left + lane.width_units;
}

bool metal_beside(const FlitchMarks& marks, const Lane& lane, int left, double kerf) {
  if (marks.at_most) return false;
  const int beside = units_up(kerf);
  const int right = left + lane.width_units;
  return std::any_of(marks.metal.begin(), marks.metal.end(), [&](const auto& metal) {
    const bool at_left = metal.right > left - beside && metal.left < left;
    const bool at_right = metal.right > right && metal.left < right + beside;
    return at_left || at_right;
  });
}

void leave_harmed(const FlitchMarks& marks, const Lane& lane, int left, CellBits& cells) {
  for (const FlitchMarks::Touch& touch : marks.touches) {
    if (!harms(touch) || touch.right <= left || touch.left >= left + lane.width_units) continue;
    const auto c = static_cast<std::size_t>(touch.cell);
    cells[c / 64] &= ~(std::uint64_t{1} << (c % 64));
  }
}

/// Cells in which the lane has wane, where only a part of a piece's length may have any.
void LaneMarks::find_wane(int left) {
  if (!lane_.partly_waney()) return;
  const int right = left + lane_.width_units;
  wane_[0] = 0.0;
  for (int c = 0; c <= wood_.last_cell; ++c) {
    const auto i = static_cast<std::size_t>(c);
    const bool full = wood_.outer.left.at[i] <= left && wood_.outer.right.at[i] >= right;
    wane_[i + 1] = wane_[i] + (full ? 0.0 : border_[i + 1] - border_[i]);
  }
}

void LaneMarks::find_factors(const Interval& rows, int left) {
  const GradeFactors& grades = lane_.by_place->grades;
  const bool graded = lane_.by_place->product.grades.has_value();
  const int right = left + lane_.width_units;
  std::array<int, max_cells> knots{};  // units of the width that knots take
  std::array<float, max_cells> marked{};
  marked.fill(-1.0F);
  const auto lower = [&](std::size_t c, double factor) {
    const auto f = static_cast<float>(factor);
    marked[c] = marked[c] < 0.0F ? f : std::min(marked[c], f);
  };
  static const std::vector<FlitchMarks::Touch> none;
  for (const FlitchMarks::Touch& touch : wood_.marks ? wood_.marks->touches : none) {
    if (touch.right <= left || touch.left >= right) continue;
    const auto c = static_cast<std::size_t>(touch.cell);
    if (harms(touch)) {
      marked[c] = 0.0F;
    } else if (graded && touch.kind == MarkKind::pith) {
      lower(c, grades.pith);
    } else if (graded) {
      lower(c, grades.knots);
      knots[c] += std::min(touch.right, right) - std::max(touch.left, left);
      if (knots[c] > grades.largest_knot * lane_.width_units) marked[c] = 0.0F;
    }
  }
  const auto clear = static_cast<float>(grades.clear);
  for (std::size_t c = 0; c < max_cells; ++c) {
    const bool wood = rows.left.at[c] <= left && rows.right.at[c] >= right;
    factor_[c] = wood ? (marked[c] < 0.0F ? clear : marked[c]) : 0.0F;
  }
}

/// Figure and rings in the middle plane, summed along the log.
void LaneMarks::find_places(int left) {
  const Product& product = lane_.by_place->product;
  if (!wood_.marks) return;
  const FlitchMarks& marks = *wood_.marks;
  most_place_ = marks.at_most ? most_place_factor(product) : 1.0;
  by_place_ = product.grain || (!product.figure.empty() && !marks.wood->figure().empty());
  by_place_ = by_place_ && !marks.at_most;
  if (!by_place_) return;
  const Frame frame(marks.pose);
  constexpr double degrees = 180.0 / std::numbers::pi;
  place_[0] = 0.0;
  for (int c = 0; c <= wood_.last_cell; ++c) {
    const auto i = static_cast<std::size_t>(c);
    const double x = 0.5 * (border_[i] + border_[i + 1]);
    double sum = 0.0;
    for (int k = 0; k < places_across && factor_[i] > 0.0F; ++k) {
      const double lateral = static_cast<double>(left) / units_per_mm +
                             lane_.width * (k + 0.5) / places_across + marks.lean * x;
      const double aside = std::abs(lateral - marks.pith_lateral[i]);
      const double above = std::abs(marks.middle - marks.pith_height[i]);
      const double grain =
          product.grain ? grain_factor(*product.grain, degrees * std::atan2(aside, above)) : 1.0;
      sum += grain * marks.wood->figure_factor(product, frame.point(x, lateral, marks.middle));
    }
    place_[i + 1] = place_[i] + sum / places_across * (border_[i + 1] - border_[i]);
  }
}

/// Least factors over powers of two cells.
void LaneMarks::find_least() {
  const std::array<float, max_cells>* half = &factor_;
  std::size_t reach = 1;
  for (auto& least : least_) {
    for (std::size_t c = 0; c + reach < max_cells; ++c) {
      least[c] = std::min((*half)[c], (*half)[c + reach]);
    }
    for (std::size_t c = max_cells - reach; c < max_cells; ++c) least[c] = (*half)[c];
    half = &least;
    reach *= 2;
  }
}

/// The least factor of the cells from `first` to `last`.
float LaneMarks::worst(int first, int last) const {
  const auto count = static_cast<unsigned>(last - first + 1);
  const auto from = static_cast<std::size_t>(first);
  if (count <= 1) return factor_[from];
  const int power = std::bit_width(count) - 1;
  const auto& least = least_[static_cast<std::size_t>(power - 1)];
  return std::min(least[from], least[static_cast<std::size_t>(last + 1 - (1 << power))]);
}

/// What a sum over cells comes to between two places along the log.
double LaneMarks::between(const Sums& sums, double from, double to) const {
  const auto up_to = [&](double x) {
    const auto after = std::upper_bound(border_.begin(), border_.end(), x) - border_.begin();
    const auto i = static_cast<std::size_t>(
        std::clamp<std::ptrdiff_t>(after - 1, 0, static_cast<std::ptrdiff_t>(wood_.last_cell)));
    const double share = std::clamp((x - border_[i]) / (border_[i + 1] - border_[i]), 0.0, 1.0);
    return sums[i] + share * (sums[i + 1] - sums[i]);
  };
  return up_to(to) - up_to(from);
}

double LaneMarks::mean_place(double from, double to) const {
  return by_place_ ? between(place_, from, to) / (to - from) : most_place_;
}

bool LaneMarks::too_waney(double from, double length) const {
  if (!lane_.partly_waney()) return false;
  const double waney = between(wane_, from - 0.5 * loss_, from + length + 0.5 * loss_);
  return waney > lane_.wane_length * length + hair;
}

double LaneMarks::run(int first, int end, std::vector<LanePiece>* pieces) {
  const LaneWorth& worths = *lane_.by_place;
  const double start = border_[static_cast<std::size_t>(first)] + 0.5 * loss_;
  const double room = border_[static_cast<std::size_t>(end)] - 0.5 * loss_ - start;
  if (room <= 0.0) return 0.0;
  const auto size = static_cast<std::size_t>(room) + 2;  // the last place: beyond any piece
  worth_.assign(size, -1.0);
  if (pieces != nullptr) steps_.assign(size, {});
  may_start_.assign(size, lane_.partly_waney() ? char{1} : char{0});
  may_start_[0] = 1;
  may_start_[size - 1] = 0;
  for (int c = first + 1; c < end; ++c) {
    const auto i = static_cast<std::size_t>(c);
    if (factor_[i] == factor_[i - 1]) continue;
    const double at = std::ceil(border_[i] - start + 0.5 * loss_ - hair);
    if (at >= 0.0 && at <= room && at < static_cast<double>(size - 1)) {
      may_start_[static_cast<std::size_t>(at)] = 1;
    }
  }
  int first_cell = first;
  last_cells_.assign(worths.price.size(), first);
  double best = 0.0;
  std::size_t best_at = 0;
  for (std::size_t x = 0; x < size; ++x) {
    if (may_start_[x] != 0 && worth_[x] < best) {
      worth_[x] = best;
      if (pieces != nullptr) steps_[x] = {-1, 0, best_at};
    }
    if (worth_[x] < 0.0) continue;
    if (worth_[x] > best) {
      best = worth_[x];
      best_at = x;
    }
    if (x + 1 == size) break;
    const double from = start + static_cast<double>(x);
    const auto border = [&](int c) { return border_[static_cast<std::size_t>(c)]; };
    while (first_cell + 1 < end && border(first_cell + 1) <= from - 0.5 * loss_ + hair) {
      ++first_cell;
    }
    for (std::size_t i = 0; i < worths.price.size(); ++i) {
      const double length = worths.product.lengths[i];
      if (static_cast<double>(x) + length > room + hair) continue;
      if (too_waney(from, length)) continue;
      int& last_cell = last_cells_[i];
      last_cell = std::max(last_cell, first_cell);
      while (last_cell + 1 < end && border(last_cell + 1) < from + length + 0.5 * loss_ - hair) {
        ++last_cell;
      }
      const double factor =
          static_cast<double>(worst(first_cell, last_cell)) * mean_place(from, from + length);
      const double worth = worths.price[i] - (worths.most - factor) * worths.value[i];
      if (worth <= 0.0) continue;
      const auto next = std::min(
          size - 1,
          static_cast<std::size_t>(std::ceil(static_cast<double>(x) + length + kerf_ - hair)));
      if (worth_[x] + worth <= worth_[next]) continue;
      worth_[next] = worth_[x] + worth;
      if (pieces != nullptr) steps_[next] = {static_cast<int>(i), x, x};
    }
  }
  if (pieces == nullptr) return best;
  const std::size_t before = pieces->size();
  for (std::size_t x = best_at; x > 0 && worth_[x] >= 0.0; x = steps_[x].before) {
    if (steps_[x].length < 0) continue;
    pieces->push_back({steps_[x].length, start + static_cast<double>(steps_[x].piece_at)});
  }
  std::reverse(pieces->begin() + static_cast<std::ptrdiff_t>(before), pieces->end());
  return best;
}

double LaneMarks::best(const Interval& rows, int left, std::vector<LanePiece>* pieces) {
  if (wood_.marks && metal_beside(*wood_.marks, lane_, left, kerf_)) return 0.0;
  find_factors(rows, left);
  find_wane(left);
  find_places(left);
  if (!by_place_ && pieces == nullptr && last_worth_ && last_factor_ == factor_ &&
      last_wane_ == wane_)
    return *last_worth_;
  find_least();
  double sum = 0.0;
  for (int c = wood_.first_cell; c <= wood_.last_cell; ++c) {
    if (factor_[static_cast<std::size_t>(c)] <= 0.0F) continue;
    const int first = c;
    while (c <= wood_.last_cell && factor_[static_cast<std::size_t>(c)] > 0.0F) ++c;
    sum += run(first, c, pieces);
  }
  last_factor_ = factor_;
  last_wane_ = wane_;
  last_worth_ = sum;
  return sum;
}

}  // namespace kerfwright::saw
