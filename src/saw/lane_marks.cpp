#include "lane_marks.hpp"

#include <algorithm>
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

/// Whether a kerf beside the lane would come near metal, anywhere along the flitch.
bool LaneMarks::metal_beside(int left) const {
  if (!wood_.marks || wood_.marks->at_most) return false;
  const int kerf = units_up(kerf_);
  const int right = left + lane_.width_units;
  return std::any_of(wood_.marks->metal.begin(), wood_.marks->metal.end(), [&](const auto& metal) {
    const bool at_left = metal.right > left - kerf && metal.left < left;
    const bool at_right = metal.right > right && metal.left < right + kerf;
    return at_left || at_right;
  });
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
    if (touch.kind == MarkKind::hole || touch.kind == MarkKind::metal) {
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

/// The least factor of the cells that the stretch lies in; at least from `first`, at most to `end`.
float LaneMarks::worst(double from, double to, int first, int end) const {
  float least = 1e30F;
  for (int c = first; c < end; ++c) {
    const auto i = static_cast<std::size_t>(c);
    if (border_[i + 1] <= from + hair) continue;
    if (border_[i] >= to - hair) break;
    least = std::min(least, factor_[i]);
  }
  return least;
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
  struct Step {
    double worth = -1.0;  // -1: no piece can start here
    int length = -1;
    std::size_t piece_at = 0, before = 0;
  };
  std::vector<Step> steps(size);
  std::vector<char> may_start(size, 0);
  may_start[0] = 1;
  if (lane_.partly_waney()) std::fill(may_start.begin(), may_start.end() - 1, char{1});
  for (int c = first + 1; c < end; ++c) {
    const auto i = static_cast<std::size_t>(c);
    if (factor_[i] == factor_[i - 1]) continue;
    const double at = std::ceil(border_[i] - start + 0.5 * loss_ - hair);
    if (at >= 0.0 && at <= room) may_start[static_cast<std::size_t>(at)] = 1;
  }
  double best = 0.0;
  std::size_t best_at = 0;
  for (std::size_t x = 0; x < size; ++x) {
    Step& step = steps[x];
    if (may_start[x] != 0 && x + 1 < size && step.worth < best) step = {best, -1, 0, best_at};
    if (step.worth < 0.0) continue;
    if (step.worth > best) {
      best = step.worth;
      best_at = x;
    }
    const double from = start + static_cast<double>(x);
    for (std::size_t i = 0; i < worths.price.size() && x + 1 < size; ++i) {
      const double length = worths.product.lengths[i];
      if (static_cast<double>(x) + length > room + hair) continue;
      if (too_waney(from, length)) continue;
      const double factor =
          static_cast<double>(worst(from - 0.5 * loss_, from + length + 0.5 * loss_, first, end)) *
          mean_place(from, from + length);
      const double worth = worths.price[i] - (worths.most - factor) * worths.value[i];
      if (worth <= 0.0) continue;
      const auto next = std::min(
          size - 1,
          static_cast<std::size_t>(std::ceil(static_cast<double>(x) + length + kerf_ - hair)));
      if (step.worth + worth <= steps[next].worth) continue;
      steps[next] = {step.worth + worth, static_cast<int>(i), x, x};
    }
  }
  if (pieces == nullptr) return best;
  const std::size_t before = pieces->size();
  for (std::size_t x = best_at; x > 0 && steps[x].worth >= 0.0; x = steps[x].before) {
    if (steps[x].length < 0) continue;
    pieces->push_back({steps[x].length, start + static_cast<double>(steps[x].piece_at)});
  }
  std::reverse(pieces->begin() + static_cast<std::ptrdiff_t>(before), pieces->end());
  return best;
}

double LaneMarks::best(const Interval& rows, int left, std::vector<LanePiece>* pieces) {
  if (metal_beside(left)) return 0.0;
  find_factors(rows, left);
  find_wane(left);
  find_places(left);
  if (!by_place_ && pieces == nullptr && last_worth_ && last_factor_ == factor_ &&
      last_wane_ == wane_)
    return *last_worth_;
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
