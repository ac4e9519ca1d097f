#include "steady_stack.hpp"

#include <algorithm>
#include <array>
#include <cmath>

#include "blade_reach.hpp"
#include "mill_limits.hpp"

namespace kerfwright::saw {
namespace {

// Normal numbers in the middles of six equal shares, spread to a variance of 1: few draws that are
// worth many.
constexpr std::array<double, 6> shares = {-1.542, -0.752, -0.234, 0.234, 0.752, 1.542};
constexpr std::array<std::size_t, 6> rise_order = {2, 5, 0, 4, 1, 3};
constexpr std::array<std::size_t, 6> height_order = {4, 1, 3, 0, 5, 2};
constexpr double height_stride = 2.0;  // mm between heights that are looked at
constexpr std::uint64_t surface_stream = 0x57ead7;

/// Means over heights that are off by a normal error, one standard deviation `sigma` in steps.
std::vector<double> blurred(const std::vector<double>& worths, double sigma) {
  const int reach = static_cast<int>(std::ceil(3.0 * sigma));
  std::vector<double> weights;
  double sum = 0.0;
  for (int k = -reach; k <= reach; ++k) {
    weights.push_back(sigma > 0.0 ? std::exp(-0.5 * k * k / (sigma * sigma)) : 1.0);
    sum += weights.back();
  }
  std::vector<double> means(worths.size(), 0.0);
  const int count = static_cast<int>(worths.size());
  for (int i = 0; i < count; ++i) {
    for (int k = -reach; k <= reach; ++k) {
      if (i + k < 0 || i + k >= count) continue;
      means[static_cast<std::size_t>(i)] += weights[static_cast<std::size_t>(k + reach)] / sum *
                                            worths[static_cast<std::size_t>(i + k)];
    }
  }
  return means;
}

}  // namespace

SteadyStacks::SteadyStacks(const LogShape& shape, const Wood& wood, const Catalogue& catalogue,
                           const SettingErrors& errors)
    : wood_(wood),
      catalogue_(catalogue),
      blur_(std::sqrt(0.5 * errors.lift * errors.lift + errors.blade * errors.blade)) {
  for (std::size_t d = 0; d < shares.size(); ++d) {
    offs_.push_back({errors.turn * shares[d], std::sqrt(2.0) * errors.lift * shares[rise_order[d]],
                     blur_ * shares[height_order[d]]});
    const DrawnWood drawn = drawn_wood(shape, Luck(surface_stream, static_cast<int>(d)), errors);
    woods_.push_back(wood);
    woods_.back().y = drawn.y;
    woods_.back().z = drawn.z;
  }
}

Pose SteadyStacks::off_by(const Pose& pose, const Off& off) const {
  return {pose.roll + off.turn, std::clamp(pose.slope + off.rise / wood_.length(), -0.5, 0.5)};
}

/// Adds what one draw gives: sums[class][i] at the strip i * stride.
void SteadyStacks::add_worths(const Pose& pose, const Cant* cant, std::size_t draw, int stride,
                              std::vector<std::vector<double>>& sums) const {
  const Off& off = offs_[draw];
  const HeightGrid& grid = catalogue_.grid;
  Off own = off;  // a cant stands as its face does, but its ends are lifted anew
  if (cant != nullptr) own.rise = offs_[(draw + 1) % offs_.size()].rise;
  const Pose sawn = off_by(pose, own);
  std::optional<CantClip> clip;
  if (cant != nullptr) {
    const double bottom = cant->bottom + 0.5 * off.rise + off.height;
    clip = cant_clip(off_by(cant->first, off), bottom, cant->size);
  }
  const Profile profile(woods_[draw], sawn, grid);
  const FlitchWorths worths(woods_[draw], catalogue_, profile, sawn.slope, clip);
  Edger edger(catalogue_, wood_.border);
  // The log tips about its middle.
  const int shift = static_cast<int>(std::lround(0.5 * own.rise / grid.step));
  for (std::size_t k = 0; k < catalogue_.classes.size(); ++k) {
    const FlitchClass& flitch = catalogue_.classes[k];
    const int last = profile.last_strip() + 1 - flitch.strips;
    for (std::size_t i = 0; i < sums[k].size(); ++i) {
      const int strip = static_cast<int>(i) * stride + shift;
      if (strip < profile.first_strip() || strip > last) continue;
      sums[k][i] += edger.best(flitch, worths.wood_at(flitch, strip));
    }
  }
}

StackTable SteadyStacks::table_of(const Pose& pose, const Cant* cant) const {
  const HeightGrid& grid = catalogue_.grid;
  const int stride = std::max(1, static_cast<int>(std::lround(height_stride / grid.step)));
  const std::size_t count = static_cast<std::size_t>(grid.levels / stride) + 2;
  std::vector<std::vector<double>> sums(catalogue_.classes.size(), std::vector<double>(count, 0.0));
  for (std::size_t d = 0; d < offs_.size(); ++d) add_worths(pose, cant, d, stride, sums);
  StackTable table;
  table.levels = grid.levels;
  for (std::size_t k = 0; k < catalogue_.classes.size(); ++k) {
    const FlitchClass& flitch = catalogue_.classes[k];
    table.items.push_back({flitch.strips, flitch.pitch});
    const std::vector<double> means = blurred(sums[k], blur_ / (grid.step * stride));
    std::vector<float> worth(static_cast<std::size_t>(grid.levels), 0.0F);
    for (int b = 0; b + flitch.strips <= grid.levels; ++b) {
      const auto i = static_cast<std::size_t>(b / stride);
      const double share = static_cast<double>(b % stride) / stride;
      worth[static_cast<std::size_t>(b)] = static_cast<float>(
          ((1.0 - share) * means[i] + share * means[i + 1]) / static_cast<double>(offs_.size()));
    }
    table.worth.push_back(std::move(worth));
    table.known.emplace_back(static_cast<std::size_t>(grid.levels), Known::exact);
  }
  table.cut_cost = cut_costs(wood_, catalogue_, Profile(wood_, pose, grid));
  std::optional<CantClip> clip;
  if (cant == nullptr) {
    forbid_wide_cuts(wood_, catalogue_, pose, table.cut_cost);
  } else {
    clip = cant_clip(cant->first, cant->bottom, cant->size);
  }
  forbid_cuts_at_metal(wood_, catalogue_, pose, clip, table.cut_cost);
  table.reach = blade_reach(wood_, catalogue_, pose, clip);
  return table;
}

LogPlan SteadyStacks::steadied(LogPlan plan) const {
  if (plan.split || plan.around) return plan;
  const HeightGrid& grid = catalogue_.grid;
  StackTable table = table_of(plan.pose, nullptr);
  for (CantPlan& cant : plan.cants) {
    const Cant left{plan.pose, grid.height(cant.bottom), cant.size};
    cant.stack = best_stack(table_of(cant.pose, &left), catalogue_.kerf_strips);
    cant.worth = cant.stack.worth;
    add_item(table, cant_item(catalogue_, cant.size), cant.bottom, cant.worth);
  }
  plan.stack = best_stack(table, catalogue_.kerf_strips);
  plan.worth = plan.stack.worth;
  plan.settled = true;
  keep_cants_of_stack(plan, static_cast<int>(catalogue_.classes.size()));
  return plan;
}

}  // namespace kerfwright::saw
