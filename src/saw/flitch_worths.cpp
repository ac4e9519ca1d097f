#include "flitch_worths.hpp"

#include <algorithm>
#include <cmath>
#include <limits>

#include "frame.hpp"
#include "lane_marks.hpp"

namespace kerfwright::saw {
namespace {

constexpr int block = 8;               // heights that share a near bound
constexpr float tells_enough = 0.99F;  // of a bound, for a lower one to spare edging for now

int saturated(int value) { return std::clamp(value, -32768, 32767); }

/// Heights that share a bound: fewer for a class too thin to have strips in common.
int heights_in_block(const FlitchClass& flitch) {
  const int most_wane = flitch.wanes.empty() ? 0 : flitch.wanes.back();
  const int thin = flitch.strips - 2 * most_wane;
  return std::clamp(thin / 2, 1, block);
}

/// Bottoms that share a bound, from first to last.
struct HeightBlock {
  int first = 0, last = 0;
  int count() const { return last - first + 1; }
};

HeightBlock block_of(const FlitchClass& flitch, int bottom, int levels) {
  const int heights = heights_in_block(flitch);
  const int first = bottom - bottom % heights;
  return {first, std::min(first + heights - 1, levels - flitch.strips)};
}

}  // namespace

float whole_lanes(const FlitchClass& flitch, double width) {
  const auto mm = static_cast<std::size_t>(std::ceil(width));
  return flitch.whole[std::min(mm, flitch.whole.size() - 1)];
}

CantClip cant_clip(const Pose& first, double bottom_height, double size, double spare) {
  // After a quarter turn the lower face is on the right: y'' = -z'.
  const double cos_slope = std::sqrt(1.0 - first.slope * first.slope);
  CantClip clip;
  clip.lean = first.slope / cos_slope;
  const double right = -bottom_height / cos_slope;
  clip.left = static_cast<int>(std::lround((right - size / cos_slope) * units_per_mm));
  clip.right = clip.left + static_cast<int>(std::ceil(size * units_per_mm - 1e-6));
  clip.size = size;
  clip.zero = clip.left;
  if (spare > 0.0) {
    clip.left -= static_cast<int>(std::ceil(spare / cos_slope)) * units_per_mm;
    clip.zero = clip.left;
    clip.slack = 1;
  }
  return clip;
}

void find_heart(const Wood& wood, const Pose& pose, double bottom, double top, double lean,
                int slack, Interval& heart) {
  const Frame frame(pose);
  heart.left.at.fill(std::numeric_limits<Unit>::max());
  heart.right.at.fill(std::numeric_limits<Unit>::min());
  for (int c = 0; c < wood.cells(); ++c) {
    double low = 1e9;
    double high = -1e9;
    bool inside = true;
    for (const auto i : {static_cast<std::size_t>(c), static_cast<std::size_t>(c) + 1}) {
      const Eigen::Vector3d pith(wood.border[i], wood.pith[i].x(), wood.pith[i].y());
      const double height = frame.up.dot(pith);
      const double lateral = frame.across.dot(pith) - lean * pith.x();
      inside = inside && height >= bottom + heart_margin && height <= top - heart_margin;
      low = std::min(low, lateral);
      high = std::max(high, lateral);
    }
    if (!inside) continue;
    const auto i = static_cast<std::size_t>(c);
    const double right = (high + heart_margin) * units_per_mm;
    const double left = (low - heart_margin) * units_per_mm;
    heart.left.at[i] = static_cast<Unit>(saturated(static_cast<int>(std::ceil(right)) - slack));
    heart.right.at[i] = static_cast<Unit>(saturated(static_cast<int>(std::floor(left)) + slack));
  }
}

FlitchWorths::FlitchWorths(const Wood& wood, const Catalogue& catalogue, const Profile& profile,
                           double slope, std::optional<CantClip> cant,
                           const std::optional<Spread>& spread)
    : wood_(wood),
      catalogue_(catalogue),
      profile_(profile),
      slope_(slope),
      clip_(cant),
      spread_(spread) {
  if (!clip_) return;
  for (int c = 0; c < wood.cells(); ++c) {
    const auto i = static_cast<std::size_t>(c);
    const double a = clip_->lean * wood.border[i] * units_per_mm;
    const double b = clip_->lean * wood.border[i + 1] * units_per_mm;
    lean_left_.at[i] = static_cast<Unit>(saturated(static_cast<int>(std::floor(std::min(a, b)))));
    lean_right_.at[i] = static_cast<Unit>(saturated(static_cast<int>(std::ceil(std::max(a, b)))));
  }
}

void FlitchWorths::clip(Interval& rows) const {
  for (std::size_t c = 0; c < max_cells; ++c) {
    const int slack = clip_->slack + (spread_ ? spread_->aside.at[c] : 0);
    const int left = rows.left.at[c] - lean_left_.at[c] - slack;
    const int right = rows.right.at[c] - lean_right_.at[c] + slack;
    rows.left.at[c] = static_cast<Unit>(std::max(saturated(left), clip_->left - clip_->slack));
    rows.right.at[c] = static_cast<Unit>(std::min(saturated(right), clip_->right + clip_->slack));
  }
}

FlitchWood FlitchWorths::seen(const FlitchClass& flitch, int strip, int heights) const {
  FlitchWood wood;
  const int from = strip + heights - 1;
  profile_.common(from, flitch.strips - heights + 1, wood.outer);
  if (clip_) clip(wood.outer);
  for (std::size_t i = 0; i < flitch.wanes.size(); ++i) {
    const int wane = flitch.wanes[i];
    profile_.common(from + wane, flitch.strips - heights + 1 - 2 * wane, wood.inner[i]);
    if (clip_) clip(wood.inner[i]);
  }
  if (flitch.boxes_heart) {
    const HeightGrid& grid = catalogue_.grid;
    const double aloft = spread_ ? spread_->height : 0.0;
    const int aside = spread_ ? static_cast<int>(std::ceil(spread_->lateral * units_per_mm)) : 0;
    find_heart(wood_, {profile_.pose().roll, slope_}, grid.height(strip) - aloft,
               grid.height(strip + heights - 1) + flitch.thickness + aloft,
               clip_ ? clip_->lean : 0.0, (clip_ ? clip_->slack : 0) + aside, wood.heart);
  }
  wood.strip = strip;
  wood.end_loss = flitch.thickness * (spread_ ? spread_->least_slope : std::abs(slope_)) + 0.02;
  wood.lean = !clip_ ? 0.0 : spread_ ? spread_->least_lean : clip_->lean;
  wood.zero = clip_ ? clip_->zero : 0;
  wood.between_faces = clip_.has_value();
  wood.last_cell = wood_.cells() - 1;
  return wood;
}

FlitchWood FlitchWorths::marked(const FlitchClass& flitch, int strip, int heights) const {
  FlitchWood wood = seen(flitch, strip, heights);
  if (spread_) return wood;
  if (!catalogue_.by_place && !wood_.marks->any_holes()) return wood;
  const HeightGrid& grid = catalogue_.grid;
  const int slack = clip_ ? clip_->slack : 0;
  wood.marks = flitch_marks(wood_, profile_.pose(), grid.height(strip + heights - 1),
                            grid.step * (flitch.strips - heights + 1), wood.lean, catalogue_.kerf,
                            heights > 1 || slack > 0, slack);
  return wood;
}

void FlitchWorths::fill(StackTable& table) {
  table.levels = catalogue_.grid.levels;
  const bool bounded = clip_ && clip_->size > 0.0;
  const auto levels = static_cast<std::size_t>(table.levels);
  for (std::size_t k = 0; k < catalogue_.classes.size(); ++k) {
    const FlitchClass& flitch = catalogue_.classes[k];
    table.items.push_back({flitch.strips, flitch.pitch});
    table.worth.emplace_back(levels, 0.0F);
    table.known.emplace_back(levels, Known::rough);
    const int last = profile_.last_strip() + 1 - flitch.strips;
    const float most_in_cant = bounded ? whole_lanes(flitch, clip_->size) : 0.0F;
    for (int b = profile_.first_strip(); b <= last; ++b) {
      // Between sawn faces no flitch has natural edges.
      if (clip_ && !flitch.slabs.empty()) break;
      float& worth = table.worth[k][static_cast<std::size_t>(b)];
      worth = bounded ? most_in_cant : bound_of(flitch, seen(flitch, b, 1), wood_.border);
      worth = with_rip_spared(flitch, worth);
      if (!clip_) worth = std::max(0.0F, worth - static_cast<float>(flitch.beside_bark * 0.9999));
    }
  }
}

/// Whether the wood reaches from face to face of the cant along the whole log.
bool FlitchWorths::fills_cant(const FlitchWood& wood) const {
  int left = -32768;
  int right = 32767;
  for (int c = wood.first_cell; c <= wood.last_cell; ++c) {
    const auto i = static_cast<std::size_t>(c);
    left = std::max<int>(left, wood.outer.left.at[i]);
    right = std::min<int>(right, wood.outer.right.at[i]);
  }
  return left <= clip_->left - clip_->slack && right >= clip_->right + clip_->slack;
}

/// Lanes that fill a cant from face to face need a rip less than there are lanes. The search does
/// not count on it, but a bound must.
/// @param size mm; one that is no cant's stands for all of them
float FlitchWorths::with_rip_spared(const FlitchClass& flitch, float worth, double size) const {
  if (!clip_ || !spread_ || flitch.filled.empty()) return worth;
  const auto& sizes = catalogue_.cant_sizes;
  const auto found = std::find(sizes.begin(), sizes.end(), size);
  const float most = found == sizes.end()
                         ? *std::max_element(flitch.filled.begin(), flitch.filled.end())
                         : flitch.filled[static_cast<std::size_t>(found - sizes.begin())];
  return std::max(worth, std::min(worth + static_cast<float>(flitch.beside_bark * 1.0001), most));
}

/// What edging gives; flitches from the inside of a cant are all alike.
float FlitchWorths::edged(Edger& edger, std::size_t item, const FlitchWood& wood) {
  const FlitchClass& flitch = catalogue_.classes[item];
  const auto found = [&] {
    return with_rip_spared(flitch, static_cast<float>(edger.best(flitch, wood)));
  };
  if (!clip_ || wood.marks || flitch.boxes_heart || !fills_cant(wood)) return found();
  inside_cant_.resize(catalogue_.classes.size());
  if (!inside_cant_[item]) inside_cant_[item] = found();
  return *inside_cant_[item];
}

std::optional<int> FlitchWorths::sketch(StackTable& table, int item, int bottom) const {
  const auto k = static_cast<std::size_t>(item);
  const FlitchClass& flitch = catalogue_.classes[k];
  if (table.known[k][static_cast<std::size_t>(bottom)] != Known::rough) return std::nullopt;
  const HeightBlock near = block_of(flitch, bottom, table.levels);
  const float most = with_rip_spared(
      flitch, bound_of(flitch, seen(flitch, near.first, near.count()), wood_.border));
  if (most > tells_enough * table.worth[k][static_cast<std::size_t>(bottom)]) return std::nullopt;
  for (int b = near.first; b <= near.last; ++b) {
    const auto i = static_cast<std::size_t>(b);
    if (table.known[k][i] == Known::rough) table.worth[k][i] = std::min(table.worth[k][i], most);
  }
  return near.last;
}

int FlitchWorths::refine(StackTable& table, Edger& edger, int item, int bottom) {
  const auto k = static_cast<std::size_t>(item);
  const FlitchClass& flitch = catalogue_.classes[k];
  auto& known = table.known[k];
  auto& worth = table.worth[k];
  if (known[static_cast<std::size_t>(bottom)] == Known::near || heights_in_block(flitch) == 1) {
    worth[static_cast<std::size_t>(bottom)] = edged(edger, k, marked(flitch, bottom, 1));
    known[static_cast<std::size_t>(bottom)] = Known::exact;
    return bottom;
  }
  const HeightBlock near = block_of(flitch, bottom, table.levels);
  const float most = edged(edger, k, marked(flitch, near.first, near.count())) * 1.00001F;
  for (int b = near.first; b <= near.last; ++b) {
    const auto i = static_cast<std::size_t>(b);
    if (known[i] == Known::exact) continue;
    worth[i] = std::min(worth[i], most);
    known[i] = Known::near;
  }
  return near.last;
}

int FlitchWorths::middle_of_play(
    const Stack& stack, int most,
    const std::function<double(std::size_t item, int bottom)>& worth_of) const {
  if (stack.items.empty()) return 0;
  const auto worth_at = [&](int shift) {
    double sum = 0.0;
    for (const Placed& placed : stack.items) {
      const auto item = static_cast<std::size_t>(placed.item);
      const int bottom = placed.bottom + shift;
      const int top = bottom + catalogue_.classes[item].strips - 1;
      if (bottom < profile_.first_strip() || top > profile_.last_strip()) return -1.0;
      sum += worth_of(item, bottom);
    }
    return sum;
  };
  const double worth = worth_at(0);
  int up = 0;
  int down = 0;
  while (up < most && worth_at(up + 1) >= worth) ++up;
  while (down < most && worth_at(-down - 1) >= worth) ++down;
  return (up - down) / 2;
}

}  // namespace kerfwright::saw
