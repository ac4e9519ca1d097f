#include "around_layout.hpp"

#include <utility>

namespace kerfwright::saw {

std::vector<AroundFlitch> flitches_of(const AroundPlan& plan) {
  std::vector<AroundFlitch> flitches;
  for (const AroundStep& step : plan.steps) {
    if (step.flitch) flitches.push_back(*step.flitch);
  }
  if (plan.heart) flitches.push_back(*plan.heart);
  return flitches;
}

AroundLayout around_layout(const AroundPlan& plan, std::vector<FlitchLayout> flitches,
                           const Catalogue& catalogue) {
  AroundLayout layout;
  layout.poses = plan.poses;
  std::size_t next = 0;
  const auto take = [&]() -> std::optional<FlitchLayout> {
    FlitchLayout& flitch = flitches[next++];
    if (flitch.pieces.empty() && flitch.segments.empty()) return std::nullopt;
    return std::move(flitch);
  };
  for (const AroundStep& step : plan.steps) {
    const double plane = catalogue.grid.height(step.level) - 0.5 * catalogue.kerf;
    layout.steps.push_back({step.direction, step.upper, plane, {}});
    if (step.flitch) layout.steps.back().flitch = take();
  }
  if (plan.heart) {
    layout.heart_direction = plan.heart->direction;
    layout.heart = take();
  }
  // Between waste and waste no cut is needed.
  auto& steps = layout.steps;
  while (!layout.heart && !steps.empty() && !steps.back().flitch) steps.pop_back();
  for (std::size_t i = steps.size(); i-- > 1;) {
    const bool same =
        steps[i].direction == steps[i - 1].direction && steps[i].upper == steps[i - 1].upper;
    if (same && !steps[i].flitch && !steps[i - 1].flitch) {
      steps.erase(steps.begin() + static_cast<std::ptrdiff_t>(i - 1));
    }
  }
  return layout;
}

}  // namespace kerfwright::saw
